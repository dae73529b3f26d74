import { along, apply, cross, dot, type Matrix, normalize, type Vector } from '../engine/matrix.ts';
import { type Lamp, lampDirection } from '../lamp.ts';

/** A sample of light: where it comes from, and which of the lights it belongs to. */
export interface LightSample {
  readonly toward: Vector;
  readonly of: 'lamp' | 'window' | 'room';
}

/** Light on the slab's face as ratios of what makes it look like its own colours; see `shaders/mockup-light.glsl`. */
export interface LightLevels {
  readonly lampPlace: Vector;
  readonly lampReachMm: number;
  readonly lamp: Vector;
  readonly window: Vector;
  readonly room: Vector;
  readonly bounce: Vector;
}

/** Half angles of lamp and window as the slab sees them, and where the room is open. Estimates by eye. */
const LAMP_RAD = 0.085;
const WINDOW_RAD = [0.3, 0.4] as const;
const ROOM_AXIS = normalize([0, 0.62, 0.78]);
const LAMP_MM = 1400;
/** Shares of the light on the slab's face, and their tints: a warm lamp, a cool window; the room makes up for both. */
const ON_FACE = { lamp: 0.46, window: 0.2, bounce: 0.07, all: 0.98 };
const LAMP_TINT: Vector = [1.07, 0.995, 0.87];
const WINDOW_TINT: Vector = [0.95, 1, 1.07];
/** A lamp that grazes the face is not turned up beyond what it would need at this height. */
const LEAST_SINE = 0.2;

export const lampWay = (lamp: Lamp, slabPlace: Matrix): Vector => normalize(apply(slabPlace, lampDirection(lamp), 0));

/** Points that fill a square evenly, whatever their number (M. Roberts, "The unreasonable effectiveness of quasirandom sequences", 2018). */
const spread = (i: number, shift = 0): [number, number] => [
  (0.5 + shift + (i + 1) * 0.7548776662466927) % 1,
  (0.5 + 2 * shift + (i + 1) * 0.5698402909980532) % 1,
];

function tilted(axis: Vector, right: number, up: number): Vector {
  const side = normalize(cross(Math.abs(axis[1]) > 0.95 ? [1, 0, 0] : [0, 1, 0], axis));
  const above = cross(axis, side);
  return normalize(along(along(axis, side, right), above, up));
}

export function lampSample(way: Vector, i: number): LightSample {
  const [u, v] = spread(i);
  const radius = LAMP_RAD * Math.sqrt(u);
  return { toward: tilted(way, radius * Math.cos(2 * Math.PI * v), radius * Math.sin(2 * Math.PI * v)), of: 'lamp' };
}

/** Every third is of the window. */
export function roomSample(window: Vector, i: number): LightSample {
  const [u, v] = spread(Math.floor(i / 3) + (i % 3) * 97, 0.137);
  if (i % 3 === 0)
    return {
      toward: tilted(normalize(window), WINDOW_RAD[0] * (2 * u - 1), WINDOW_RAD[1] * (2 * v - 1)),
      of: 'window',
    };
  const [p, q] = spread(i - Math.floor(i / 3) - 1, 0.31);
  const up = 1 - p;
  const out = Math.sqrt(1 - up * up) / Math.max(up, 1e-3);
  return { toward: tilted(ROOM_AXIS, out * Math.cos(2 * Math.PI * q), out * Math.sin(2 * Math.PI * q)), of: 'room' };
}

/** Irradiance from the open room on a surface that sees all of it, 1 for one that faces it: the half space cut by the surface's own. */
const openRoom = (normal: Vector): number => 0.5 * (1 + dot(normal, ROOM_AXIS));

/** Balances lamp, window and room so that the face of a slab shows its own colours. */
export function lightLevels(lamp: Lamp, slabPlace: Matrix, window: Vector): LightLevels {
  const way = lampWay(lamp, slabPlace);
  const normal = normalize(apply(slabPlace, [0, 1, 0], 0));
  const centre: Vector = [slabPlace[12], slabPlace[13], slabPlace[14]];
  const sine = Math.max(0.02, dot(way, normal));
  const strength = ON_FACE.lamp / Math.max(LEAST_SINE, sine);
  const onFace = strength * sine;
  const windowSine = Math.max(0.25, dot(normalize(window), normal));
  const tinted = (tint: Vector, value: number): Vector => [tint[0] * value, tint[1] * value, tint[2] * value];
  const room = [0, 1, 2].map((k) => {
    const rest = ON_FACE.all - LAMP_TINT[k] * onFace - WINDOW_TINT[k] * ON_FACE.window - ON_FACE.bounce;
    // A lamp that cannot light the face fully leaves it darker, as it does in truth; half of what is missing comes from the room.
    const missing = ON_FACE.lamp - onFace;
    return (rest - 0.5 * missing) / openRoom(normal);
  });
  return {
    lampPlace: along(centre, way, LAMP_MM),
    lampReachMm: LAMP_MM,
    lamp: tinted(LAMP_TINT, strength),
    window: tinted(WINDOW_TINT, ON_FACE.window / windowSine),
    room: room as unknown as Vector,
    bounce: [ON_FACE.bounce * 1.8, ON_FACE.bounce * 1.68, ON_FACE.bounce * 1.5],
  };
}
