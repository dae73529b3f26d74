import { GLSL3, ShaderMaterial, type Texture, Vector2, Vector3 } from 'three';
import light from '../../../../shaders/light.glsl?raw';
import output from '../../../../shaders/output.glsl?raw';
import rimFragment from '../../../../shaders/rim.frag?raw';
import rimVertex from '../../../../shaders/rim.vert?raw';
import solidWood from '../../../../shaders/solid-wood.glsl?raw';
import { BARK_TILE_MM } from '../../mesh/bark-heights.ts';
import { barkPlace } from '../../mesh/bark-place.ts';
import { type SlabShape, slabOutline } from '../../mesh/outline.ts';
import type { LightUniforms } from './light-uniforms.ts';
import type { WoodPhotoUniforms } from './wood-photo.ts';

const DEFAULT_RING_MM = 2.4;

/** The slab's rim: bark or sawn wood. Nobody else touches its uniforms. */
export class RimMaterial {
  readonly material: ShaderMaterial;
  private readonly own;

  constructor(lights: LightUniforms, wood: WoodPhotoUniforms, coat: Texture, bark: Texture) {
    this.own = {
      uCoat: { value: coat },
      uBark: { value: bark },
      uBarkTile: { value: new Vector2(BARK_TILE_MM.round, BARK_TILE_MM.along) },
      uBarkWay: { value: 1 },
      uWood: { value: new Vector3() },
      uThickness: { value: 1 },
      uPith: { value: new Vector2() },
      uRingMm: { value: DEFAULT_RING_MM },
    };
    this.material = new ShaderMaterial({
      glslVersion: GLSL3,
      uniforms: { ...this.own, ...lights.shared, ...wood.shared },
      vertexShader: rimVertex,
      fragmentShader: [light, output, solidWood, rimFragment].join('\n'),
    });
  }

  setSlab(slab: SlabShape): void {
    const { own, material } = this;
    const outline = slabOutline(slab);
    own.uWood.value.set(...slab.woodColor);
    own.uThickness.value = slab.thicknessMm;
    own.uPith.value.set(slab.pithXMm ?? 0, slab.pithYMm ?? 0);
    own.uRingMm.value = Math.max(0.2, slab.ringWidthMm ?? DEFAULT_RING_MM);
    own.uBarkWay.value = barkPlace(slab, outline[outline.length - 1].alongMm).wayMm;
    const defines: Record<string, string> = {};
    if ('WOOD_PHOTO' in material.defines) defines['WOOD_PHOTO'] = '';
    if (slab.cut === 'plank') defines['PLANK'] = '';
    if (outline.some((point) => point.bark > 0)) defines['BARK'] = '';
    if (outline.some((point) => point.bark < 1)) defines['SAWN'] = '';
    material.defines = defines;
    material.needsUpdate = true;
  }

  /** Whether the rim is coloured as it was photographed. */
  setWoodPhoto(on: boolean): void {
    const { material } = this;
    if ('WOOD_PHOTO' in material.defines === on) return;
    if (on) material.defines['WOOD_PHOTO'] = '';
    else delete material.defines['WOOD_PHOTO'];
    material.needsUpdate = true;
  }

  dispose(): void {
    this.material.dispose();
  }
}
