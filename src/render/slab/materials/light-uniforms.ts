import { Vector3 } from 'three';
import { balanceLight } from '../lamp/balance.ts';
import { type Lamp, lampDirection } from '../sight/lamp.ts';

/** Half size of the lamp's opening over its distance: a shaded workshop lamp about a metre away. Estimate. */
export const LAMP_HALF_SIZE = 0.045;

/** The uniforms of shaders/light.glsl, one object shared by every material of the scene. */
export class LightUniforms {
  readonly uLampPlace = { value: new Vector3(0, 1, 0) };
  readonly uLampLight = { value: new Vector3() };
  readonly uDomeLight = { value: new Vector3(1, 1, 1) };
  readonly uLampDistance2 = { value: 1 };
  /** Light on a flat surface at the slab's centre, 0…1. */
  level = 1;

  set(lamp: Lamp, lighting: 'lamp' | 'dome', slabSizeMm: number): void {
    const direction = lampDirection(lamp);
    const distance = 4.2 * slabSizeMm;
    const balance = balanceLight(lamp, lighting);
    this.uLampPlace.value.set(direction[0], direction[1], direction[2]).multiplyScalar(distance);
    this.uLampDistance2.value = distance * distance;
    this.uLampLight.value.set(...balance.lamp);
    this.uDomeLight.value.set(...balance.dome);
    this.level = balance.dome[1] + balance.lamp[1] * direction[1];
  }

  /** The uniforms by name, to be spread into a material. */
  get shared() {
    return {
      uLampPlace: this.uLampPlace,
      uLampLight: this.uLampLight,
      uDomeLight: this.uDomeLight,
      uLampDistance2: this.uLampDistance2,
    };
  }
}
