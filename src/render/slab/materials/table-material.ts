import { Color, GLSL3, ShaderMaterial, type Texture, Vector3 } from 'three';
import light from '../../../../shaders/light.glsl?raw';
import output from '../../../../shaders/output.glsl?raw';
import tableFragment from '../../../../shaders/table.frag?raw';
import tableVertex from '../../../../shaders/table.vert?raw';
import tableShadow from '../../../../shaders/table-shadow.glsl?raw';
import type { SlabShape } from '../../mesh/outline.ts';
import { LAMP_HALF_SIZE, type LightUniforms } from './light-uniforms.ts';

/** The table under the slab, with the slab's shadows. */
export class TableMaterial {
  readonly material: ShaderMaterial;
  private readonly own;

  constructor(lights: LightUniforms, coat: Texture) {
    this.own = {
      uCoat: { value: coat },
      uTable: { value: new Vector3() },
      uBackground: { value: new Vector3() },
      uReach: { value: 1 },
      uLampSize: { value: LAMP_HALF_SIZE },
      uSlabSize: { value: new Vector3(1, 1, 1) },
      uOval: { value: 1 },
    };
    this.material = new ShaderMaterial({
      glslVersion: GLSL3,
      uniforms: { ...this.own, ...lights.shared },
      vertexShader: tableVertex,
      fragmentShader: [light, output, tableShadow, tableFragment].join('\n'),
    });
  }

  setSlab(slab: SlabShape): void {
    this.own.uSlabSize.value.set(slab.widthMm / 2, slab.heightMm / 2, slab.thicknessMm);
    this.own.uOval.value = slab.shape === 'rectangle' ? 0 : 1;
    this.own.uReach.value = tableReach(slab);
  }

  /** A CSS colour; the table is the same grey, so that it fades into the page. */
  setBackground(background: string): void {
    const { r, g, b } = new Color(background);
    this.own.uBackground.value.set(r, g, b);
    this.own.uTable.value.set(r, g, b);
  }

  dispose(): void {
    this.material.dispose();
  }
}

/** Radius at which the table has faded into the background, mm. */
export const tableReach = (slab: SlabShape): number => 2.6 * Math.max(slab.widthMm, slab.heightMm);
