import { GLSL3, ShaderMaterial, type Texture, Vector2, Vector3, Vector4 } from 'three';
import hatch from '../../../shaders/hatch.glsl?raw';
import light from '../../../shaders/light.glsl?raw';
import microfacet from '../../../shaders/microfacet.glsl?raw';
import output from '../../../shaders/output.glsl?raw';
import fragment from '../../../shaders/paint.frag?raw';
import vertex from '../../../shaders/paint.vert?raw';
import { alphaOfGloss60 } from '../optics/gloss.ts';
import type { SurfaceTextures } from '../surface/gpu-surface.ts';
import type { Side } from '../surface/surface-slots.ts';
import { LAMP_HALF_SIZE, type LightUniforms } from './light-uniforms.ts';

type Rgb = readonly [number, number, number];

export interface PicturePlace {
  readonly centreXMm: number;
  readonly centreYMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
  readonly crop: 'rectangle' | 'oval';
}

/** Linear rgb of the marks: slate blue for uncleared, rust for scorched. */
const UNCLEARED_TINT: Rgb = [0.0284, 0.159, 0.2747];
const SCORCHED_TINT: Rgb = [0.3372, 0.0742, 0.0222];
/** Steepest slope of the procedural unevenness of an intact coat, and the size of its tile. Estimates for a sprayed satin. */
const COAT_SLOPE = 0.022;
const COAT_TILE_MM = 57;
const MATTE_ALPHA = 0.34;

/** The painted face. Nobody else touches its uniforms. */
export class PaintMaterial {
  readonly material: ShaderMaterial;
  private readonly own;
  private readonly blank: Texture;
  private readonly surfaces: Record<Side, SurfaceTextures | null> = { left: null, right: null };

  constructor(lights: LightUniforms, coat: Texture, blank: Texture) {
    this.blank = blank;
    this.own = {
      uColor: { value: blank },
      uMoments: { value: blank },
      uMarks: { value: blank },
      uHas: { value: 0 },
      uCellsAcross: { value: 1 },
      uPicture: { value: new Vector4(0, 0, 1, 1) },
      uCropOval: { value: 0 },
      uCoat: { value: coat },
      uCoatTileMm: { value: COAT_TILE_MM },
      uCoatSlope: { value: COAT_SLOPE },
      uIntact: { value: new Vector3(0.1, 0.1, 0.1) },
      uAlpha: { value: new Vector2(0.1, 0.2) },
      uExaggeration: { value: 1 },
      uUnclearedTint: { value: new Vector3(...UNCLEARED_TINT) },
      uScorchedTint: { value: new Vector3(...SCORCHED_TINT) },
    };
    this.material = new ShaderMaterial({
      glslVersion: GLSL3,
      uniforms: { ...this.own, ...lights.shared },
      vertexShader: vertex,
      fragmentShader: [microfacet, light, output, hatch, fragment].join('\n'),
    });
  }

  setPicture(picture: PicturePlace): void {
    const west = picture.centreXMm - picture.widthMm / 2;
    const north = picture.centreYMm - picture.heightMm / 2;
    this.own.uPicture.value.set(west, north, picture.widthMm, picture.heightMm);
    this.own.uCropOval.value = picture.crop === 'oval' ? 1 : 0;
  }

  /** `gloss60` in GU; the lamp's own size widens every reflection a little. */
  setCoat(intact: Rgb, gloss60: number, underGloss60: number, sheen: 'satin' | 'matte'): void {
    const rough = (gloss: number): number => {
      const alpha = Math.hypot(alphaOfGloss60(gloss), LAMP_HALF_SIZE);
      return sheen === 'matte' ? Math.max(alpha, MATTE_ALPHA) : alpha;
    };
    this.own.uIntact.value.set(...intact);
    this.own.uAlpha.value.set(rough(gloss60), rough(underGloss60));
  }

  setRelief(exaggeration: number): void {
    this.own.uExaggeration.value = Math.max(0, exaggeration);
  }

  setMarks(marks: { uncleared: boolean; scorched: boolean }): void {
    this.define('UNCLEARED', marks.uncleared);
    this.define('SCORCHED', marks.scorched);
  }

  /** Whether single cells can be told apart: only then are the shadows inside burned dots worth their price. */
  setCloseUp(closeUp: boolean): void {
    this.define('CLOSE_UP', closeUp);
  }

  private define(name: string, on: boolean): void {
    const { material } = this;
    if (name in material.defines === on) return;
    if (on) material.defines[name] = '';
    else delete material.defines[name];
    material.needsUpdate = true;
  }

  setSurface(side: Side, surface: SurfaceTextures | null): void {
    this.surfaces[side] = surface;
    this.define('PROOF', this.surfaces.left !== null || this.surfaces.right !== null);
  }

  shows(side: Side): boolean {
    return this.surfaces[side] !== null;
  }

  /** Makes one side's surface the one that is drawn next. */
  use(side: Side): void {
    const { own, blank } = this;
    const surface = this.surfaces[side];
    own.uColor.value = surface?.color ?? blank;
    own.uMoments.value = surface?.moments ?? blank;
    own.uMarks.value = surface?.marks ?? blank;
    own.uHas.value = surface ? 1 : 0;
    own.uCellsAcross.value = surface?.width ?? 1;
    this.material.uniformsNeedUpdate = true;
  }

  /** mm per cell of the finer surface, Infinity without one. */
  get cellMm(): number {
    const cells = Math.max(this.surfaces.left?.width ?? 0, this.surfaces.right?.width ?? 0);
    return cells > 0 ? this.own.uPicture.value.z / cells : Number.POSITIVE_INFINITY;
  }

  dispose(): void {
    this.material.dispose();
  }
}
