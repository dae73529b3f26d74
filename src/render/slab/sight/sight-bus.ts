import type { Sight, Stage } from './stage-mapping.ts';

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
