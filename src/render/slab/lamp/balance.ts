import type { Lamp } from '../sight/lamp.ts';

/** Light on the slab as ratios: 1 is what makes a surface look exactly like its proof colour. Linear rgb. */
export interface LightBalance {
  /** From the room, the same from all sides. */
  readonly dome: readonly [number, number, number];
  /** From the lamp onto a surface that faces it. */
  readonly lamp: readonly [number, number, number];
}

/** A mild, warm lamp against slightly cool room light; at 45° the two add up to a neutral white. Estimated by eye. */
const LAMP_TINT = [1.05, 0.995, 0.9] as const;

/** Share of the lamp's light that a coat of index 1.5 lets in, against light from above (Schlick's Fresnel term, F0 = 0.04). */
const entering = (sine: number): number => 1 - (1 - sine) ** 5;

/**
 * Room light alone ('dome') or room light with the lamp. The lamp is turned up and the room turned down as the lamp sinks, as one
 * does on a proofing table: a flat white gets about 0.95 with the lamp at 45° and about 0.7 at 10°, so neither clips.
 */
export function balanceLight(lamp: Lamp, lighting: 'lamp' | 'dome'): LightBalance {
  if (lighting === 'dome') return { dome: [1, 1, 1], lamp: [0, 0, 0] };
  const sine = Math.max(0.05, Math.sin(lamp.elevationRad));
  const height = Math.min(1, Math.max(0, (lamp.elevationRad * 180) / Math.PI / 45));
  const room = 0.2 + 0.26 * height * (2 - height);
  const onFlat = 0.5;
  const strength = onFlat / sine / entering(sine) ** 0.75;
  const tone = (tint: number): number => strength * tint;
  const cool = (tint: number): number => room * (1 + ((1 - tint) * onFlat) / 0.46);
  return {
    dome: [cool(LAMP_TINT[0]), cool(LAMP_TINT[1]), cool(LAMP_TINT[2])],
    lamp: [tone(LAMP_TINT[0]), tone(LAMP_TINT[1]), tone(LAMP_TINT[2])],
  };
}
