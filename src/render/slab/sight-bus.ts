import type { PlacedBox } from '../../physics/bed/placed-box.ts';
import { LAMP_LOWEST_RAD, type Lamp, settleLamp } from '../lamp.ts';

/** What the handles over the canvas need to know about the current picture, in CSS pixels of the canvas. */
export interface SightState {
  readonly sight: Sight;
  /** The free part of the canvas. */
  readonly stage: Stage;
  /** West and east ends of the slab as far as the stage shows them. */
  readonly slab: { readonly west: number; readonly east: number };
  /** Where on the canvas a place of the slab's face is seen (mm from its centre, y towards the viewer); null if it lies behind. */
  toCanvas(xMm: number, yMm: number): { readonly x: number; readonly y: number } | null;
  /** And back; null above the horizon. */
  toFace(x: number, y: number): readonly [number, number] | null;
}

/**
 * Carries the camera's state from the drawn frame to the handles above it without going through React: they move with every frame
 * while the camera does.
 */
export class SightBus {
  current: SightState = {
    sight: { azimuthRad: 0, polarRad: 0 },
    stage: { left: 0, right: 1, top: 0, bottom: 1 },
    slab: { west: 0, east: 1 },
    toCanvas: () => null,
    toFace: () => null,
  };
  private readonly listeners = new Set<(state: SightState) => void>();

  emit(state: SightState): void {
    this.current = state;
    for (const listener of this.listeners) listener(state);
  }

  subscribe(listener: (state: SightState) => void): () => void {
    this.listeners.add(listener);
    listener(this.current);
    return () => this.listeners.delete(listener);
  }
}

/** x of the wipe on the canvas. */
export const wipeToX = (wipe: number, { slab }: SightState): number =>
  slab.west + (slab.east - slab.west) * Math.min(1, Math.max(0, wipe));

export const xToWipe = (x: number, { slab }: SightState): number =>
  Math.min(1, Math.max(0, (x - slab.west) / Math.max(1, slab.east - slab.west)));

type Corner = readonly [number, number];

/** The picture while it is placed by hand; mm from the slab's centre, y growing towards the viewer. */
export interface Placing {
  readonly box: PlacedBox;
  readonly crop: 'rectangle' | 'oval';
  /** Closed edges of what a face should be kept off: drawn over the picture. */
  readonly flaws: readonly (readonly Corner[])[];
  /** The picture itself, half transparent, while nothing better shows where it lies. The caller's, open as long as it is given. */
  readonly ghost: ImageBitmap | null;
  /** What is told of the place to those who do not see it. */
  readonly words: string;
  /** A drag begins; everything up to `onRelease` belongs together. Keys change the box without it. */
  onGrab(): void;
  onChange(box: PlacedBox): void;
  onRelease(): void;
  /** Escape. */
  onDone(): void;
}

/** The part of the canvas, in CSS pixels, in which the lamp's handle may be; the slab's centre is taken to be at its centre. */
export interface Stage {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** How the camera sees the table: its azimuth (0 = from the south) and its tilt away from straight above. */
interface Sight {
  readonly azimuthRad: number;
  readonly polarRad: number;
}

interface StagePoint {
  readonly x: number;
  readonly y: number;
}

const foreshortening = (sight: Sight): number => Math.max(0.35, Math.cos(sight.polarRad));

/** Distance from the stage's centre to its edge along a unit direction. */
function reach(stage: Stage, dx: number, dy: number): number {
  const halfWidth = Math.max(1, (stage.right - stage.left) / 2);
  const halfHeight = Math.max(1, (stage.bottom - stage.top) / 2);
  return 1 / Math.max(Math.abs(dx) / halfWidth, Math.abs(dy) / halfHeight);
}

/**
 * Where the lamp's handle stands on the stage. The dome over the slab is laid out flat, like the chart of a sky: the zenith at
 * the centre of the stage, the lowest lamp at its edge, distance from the centre in proportion to the angle from the zenith, and
 * the direction true to the direction in which the light crosses the slab as the camera sees it. So the handle never leaves the
 * stage, low (raking) angles have room, and the mapping can be undone exactly.
 */
export function lampToStage(lamp: Lamp, stage: Stage, sight: Sight): StagePoint {
  const { azimuthRad, elevationRad } = settleLamp(lamp);
  const bearing = azimuthRad + sight.azimuthRad;
  const right = Math.sin(bearing);
  const down = -Math.cos(bearing) * foreshortening(sight);
  const length = Math.hypot(right, down);
  const share = (Math.PI / 2 - elevationRad) / (Math.PI / 2 - LAMP_LOWEST_RAD);
  const radius = share * reach(stage, right / length, down / length);
  return {
    x: (stage.left + stage.right) / 2 + (right / length) * radius,
    y: (stage.top + stage.bottom) / 2 + (down / length) * radius,
  };
}

/** The lamp that belongs to a point of the stage: the inverse of `lampToStage`; points outside count as the stage's edge. */
export function stageToLamp(point: StagePoint, stage: Stage, sight: Sight): Lamp {
  const right = point.x - (stage.left + stage.right) / 2;
  const down = point.y - (stage.top + stage.bottom) / 2;
  const length = Math.hypot(right, down);
  if (!(length > 1e-9)) return settleLamp({ azimuthRad: -sight.azimuthRad, elevationRad: Math.PI / 2 });
  const share = Math.min(1, length / reach(stage, right / length, down / length));
  const bearing = Math.atan2(right, -down / foreshortening(sight));
  return settleLamp({
    azimuthRad: bearing - sight.azimuthRad,
    elevationRad: Math.PI / 2 - share * (Math.PI / 2 - LAMP_LOWEST_RAD),
  });
}
