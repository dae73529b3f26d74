import { lookAt, type Matrix, multiply, perspective, type Tile, type Vector } from './gl/matrix.ts';
import type { Sight } from './things/setting.ts';

/** How the camera stands, away from the setting's own place for it. */
export interface Stance {
  readonly azimuthRad: number;
  readonly heightRad: number;
  /** 1 is the setting's own distance; 2 is twice as near. */
  readonly zoom: number;
  /** Turns the slab itself, about the upright. */
  readonly turnRad: number;
}

export const AT_HOME: Stance = { azimuthRad: 0, heightRad: 0, zoom: 1, turnRad: 0 };

const FIELD_RAD = 0.42;
/** Width over height that the settings are laid out for. */
export const RATIO = 4 / 3;

/** Where the camera is and what it looks at. */
export interface Eye {
  readonly eye: Vector;
  readonly target: Vector;
}

export function eyeOf(sight: Sight, { azimuthRad, heightRad, zoom }: Stance, ratio: number): Eye {
  const distance = (sight.distanceMm / zoom) * Math.max(1, RATIO / ratio);
  const azimuth = sight.azimuthRad + azimuthRad;
  const height = Math.min(1.55, sight.heightRad + heightRad);
  const { target } = sight;
  return {
    target,
    eye: [
      target[0] + distance * Math.sin(azimuth) * Math.cos(height),
      target[1] + distance * Math.sin(height),
      target[2] + distance * Math.cos(azimuth) * Math.cos(height),
    ],
  };
}

/** From the world to a tile of the picture. */
export function sightOf({ eye, target }: Eye, ratio: number, tile: Tile): Matrix {
  const far = Math.hypot(eye[0] - target[0], eye[1] - target[1], eye[2] - target[2]);
  return multiply(perspective(FIELD_RAD, ratio, far * 0.1, far * 12, tile), lookAt(eye, target, [0, 1, 0]));
}
