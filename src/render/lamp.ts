/**
 * Where the lamp stands, seen from the slab's centre. Azimuth 0 is north (the picture's top edge) and grows clockwise as seen
 * from above, so π/2 is east (the picture's right edge). Elevation is the height above the slab's surface.
 */
export interface Lamp {
  readonly azimuthRad: number;
  readonly elevationRad: number;
}

const DEG = Math.PI / 180;

export const LAMP_LOWEST_RAD = 5 * DEG;

export const LAMP_HIGHEST_RAD = 85 * DEG;

/** Wraps the azimuth into 0…2π and keeps the elevation between 5° and 85°. NaN falls back to a lamp in the north-west at 35°. */
export function settleLamp(lamp: Lamp): Lamp {
  const turn = 2 * Math.PI;
  const azimuthRad = Number.isFinite(lamp.azimuthRad) ? ((lamp.azimuthRad % turn) + turn) % turn : 315 * DEG;
  const wanted = Number.isFinite(lamp.elevationRad) ? lamp.elevationRad : 35 * DEG;
  return { azimuthRad, elevationRad: Math.min(LAMP_HIGHEST_RAD, Math.max(LAMP_LOWEST_RAD, wanted)) };
}

/** Unit vector from the slab to the lamp: x east, y up, z south. */
export function lampDirection(lamp: Lamp): readonly [number, number, number] {
  const level = Math.cos(lamp.elevationRad);
  return [Math.sin(lamp.azimuthRad) * level, Math.sin(lamp.elevationRad), -Math.cos(lamp.azimuthRad) * level];
}

const WINDS = [
  'north',
  'north-north-east',
  'north-east',
  'east-north-east',
  'east',
  'east-south-east',
  'south-east',
  'south-south-east',
  'south',
  'south-south-west',
  'south-west',
  'west-south-west',
  'west',
  'west-north-west',
  'north-west',
  'north-north-west',
];

/** The lamp's place in words, for screen readers: "Lamp from the north-west, 20° above the slab". */
export function describeLamp(lamp: Lamp): string {
  const { azimuthRad, elevationRad } = settleLamp(lamp);
  const wind = WINDS[Math.round(azimuthRad / (Math.PI / 8)) % 16];
  return `Lamp from the ${wind}, ${Math.round(elevationRad / DEG)}° above the slab`;
}
