import { GLSL3, ShaderMaterial, type Texture, Vector2, Vector3, Vector4 } from 'three';
import light from '../../../../shaders/light.glsl?raw';
import marks from '../../../../shaders/marks.glsl?raw';
import microfacet from '../../../../shaders/microfacet.glsl?raw';
import output from '../../../../shaders/output.glsl?raw';
import fragment from '../../../../shaders/paint.frag?raw';
import vertex from '../../../../shaders/paint.vert?raw';
import rimFragment from '../../../../shaders/rim.frag?raw';
import rimVertex from '../../../../shaders/rim.vert?raw';
import solidWood from '../../../../shaders/solid-wood.glsl?raw';
import { alphaOfGloss60 } from '../../../physics/material/coat-optics.ts';
import { type SlabShape, slabOutline } from '../../mesh/outline.ts';
import { BARK_TILE_MM, barkPlace } from '../../mesh/rim.ts';
import { type Lamp, lampDirection } from '../sight/sight-bus.ts';
import type { SurfaceTextures } from '../surface/gpu-surface.ts';
import type { Side } from '../surface/surface-slots.ts';
import type { WoodPhotoUniforms } from './wood-photo.ts';

type Rgb = readonly [number, number, number];

export interface PicturePlace {
  readonly centreXMm: number;
  readonly centreYMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
  readonly crop: 'rectangle' | 'oval';
}

/** 60° gloss of what can lie open, GU; null for a coat that there is none of, whose place the wood takes. */
interface LayerGloss {
  readonly top: number | null;
  readonly under: number | null;
  readonly wood: number;
}

/** Linear rgb of the marks: ochre dots for what is left dark, red crosses for what is scorched. */
const UNCLEARED_TINT: Rgb = [0.72, 0.36, 0.03];

const SCORCHED_TINT: Rgb = [0.55, 0.03, 0.02];

/** Steepest slope of the procedural unevenness of an intact coat, and the size of its tile. Estimates for a sprayed satin. */
const COAT = { slope: 0.022, tileMm: 57 };

/** Over a ground, which knows the film's waves itself, there is only its fine orange peel left to draw. Estimates. */
const PEEL = { slope: 0.009, tileMm: 26, finestMm: 0.2 };

const MATTE_ALPHA = 0.34;

/** The painted face. Nobody else touches its uniforms. */
export class PaintMaterial {
  readonly material: ShaderMaterial;
  private readonly own;
  private readonly blank: Texture;
  private readonly surfaces: Record<Side, SurfaceTextures | null> = { left: null, right: null };

  constructor(lights: LightUniforms, wood: WoodPhotoUniforms, coat: Texture, blank: Texture) {
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
      uCoatTileMm: { value: COAT.tileMm },
      uCoatSlope: { value: COAT.slope },
      uGroundColor: { value: blank },
      uGroundMoments: { value: blank },
      uGround: { value: new Vector4(0, 0, 1, 1) },
      uIntact: { value: new Vector3(0.1, 0.1, 0.1) },
      uAlpha: { value: new Vector3(0.1, 0.2, 0.5) },
      uExaggeration: { value: 1 },
      uUnclearedTint: { value: new Vector3(...UNCLEARED_TINT) },
      uScorchedTint: { value: new Vector3(...SCORCHED_TINT) },
    };
    this.material = new ShaderMaterial({
      glslVersion: GLSL3,
      uniforms: { ...this.own, ...lights.shared, ...wood.shared },
      vertexShader: vertex,
      fragmentShader: [microfacet, light, output, marks, fragment].join('\n'),
    });
  }

  setPicture(picture: PicturePlace): void {
    const west = picture.centreXMm - picture.widthMm / 2;
    const north = picture.centreYMm - picture.heightMm / 2;
    this.own.uPicture.value.set(west, north, picture.widthMm, picture.heightMm);
    this.own.uCropOval.value = picture.crop === 'oval' ? 1 : 0;
  }

  /** The lamp's own size widens every reflection a little. */
  setCoat(intact: Rgb, gloss60: LayerGloss, sheen: 'satin' | 'matte'): void {
    const rough = (gloss: number): number => {
      const alpha = Math.hypot(alphaOfGloss60(gloss), LAMP_HALF_SIZE);
      return sheen === 'matte' ? Math.max(alpha, MATTE_ALPHA) : alpha;
    };
    const { top, under, wood } = gloss60;
    this.own.uIntact.value.set(...intact);
    this.own.uAlpha.value.set(rough(top ?? wood), rough(under ?? wood), rough(wood));
  }

  /** The unburned slab, centred on the slab's centre; null draws one even coat. */
  setGround(ground: SurfaceTextures | null): void {
    const { own } = this;
    own.uGroundColor.value = ground?.color ?? this.blank;
    own.uGroundMoments.value = ground?.moments ?? this.blank;
    if (ground) {
      const widthMm = ground.width * ground.pitchMm;
      const heightMm = ground.height * ground.pitchMm;
      own.uGround.value.set(-widthMm / 2, -heightMm / 2, widthMm, heightMm);
    }
    const film: typeof COAT = ground ? PEEL : COAT;
    own.uCoatSlope.value = film.slope;
    own.uCoatTileMm.value = film.tileMm;
    this.define('GROUND', ground !== null);
  }

  /** Whether bare wood is shown as it was photographed. */
  setWoodPhoto(on: boolean): void {
    this.define('WOOD_PHOTO', on);
  }

  setRelief(exaggeration: number): void {
    this.own.uExaggeration.value = Math.max(0, exaggeration);
  }

  setMarks(marks: { uncleared: boolean; scorched: boolean }): void {
    this.define('UNCLEARED', marks.uncleared);
    this.define('SCORCHED', marks.scorched);
  }

  /**
   * Size of a drawn pixel: only where single cells can be told apart are the shadows inside burned dots worth their price, and only
   * where a pixel is smaller than the waves of the orange peel is the peel.
   */
  setPixel(pixelMm: number): void {
    this.define('CLOSE_UP', pixelMm < this.cellMm);
    this.define('PEEL', pixelMm < PEEL.finestMm);
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
    const shown = [this.surfaces.left, this.surfaces.right];
    this.define(
      'PROOF',
      shown.some((one) => one !== null),
    );
    this.define(
      'OPEN_WOOD',
      shown.some((one) => one?.opensWood),
    );
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
  private get cellMm(): number {
    const cells = Math.max(this.surfaces.left?.width ?? 0, this.surfaces.right?.width ?? 0);
    return cells > 0 ? this.own.uPicture.value.z / cells : Number.POSITIVE_INFINITY;
  }

  dispose(): void {
    this.material.dispose();
  }
}

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

/** Light on the slab as ratios: 1 is what makes a surface look exactly like its proof colour. Linear rgb. */
interface LightBalance {
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
