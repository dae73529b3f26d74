import { LAMP_LOWEST_RAD, type Lamp, settleLamp } from './lamp.ts';

/** The part of the canvas, in CSS pixels, in which the lamp's handle may be; the slab's centre is taken to be at its centre. */
export interface Stage {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** How the camera sees the table: its azimuth (0 = from the south) and its tilt away from straight above. */
export interface Sight {
  readonly azimuthRad: number;
  readonly polarRad: number;
}

export interface StagePoint {
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
