import light from '../../../shaders/light.glsl?raw';
import marks from '../../../shaders/marks.glsl?raw';
import microfacet from '../../../shaders/microfacet.glsl?raw';
import output from '../../../shaders/output.glsl?raw';
import fragment from '../../../shaders/paint.frag?raw';
import vertex from '../../../shaders/paint.vert?raw';
import rimFragment from '../../../shaders/rim.frag?raw';
import rimVertex from '../../../shaders/rim.vert?raw';
import solidWood from '../../../shaders/solid-wood.glsl?raw';
import tableFragment from '../../../shaders/table.frag?raw';
import tableShadow from '../../../shaders/table-shadow.glsl?raw';
import { decodeSrgb } from '../../base/color/srgb.ts';
import { alphaOfGloss60 } from '../../physics/material/coat-optics.ts';
import { type Buffers, loadPicture, ProgramFamily, type Values } from '../engine/gl.ts';
import { type Lamp, lampDirection } from '../lamp.ts';
import { noiseTile, type Octaves, type SlabShape, slabOutline } from '../mesh/outline.ts';
import { BARK_TILE_MM, barkPlace } from '../mesh/rim.ts';
import type { SurfaceTextures } from './surface/gpu-surface.ts';
import type { Side } from './surface/surface-slots.ts';

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

/** A picture of the slab from straight above; its middle from the slab's centre, y growing towards the viewer. */
export interface WoodPhoto {
  readonly image: ImageBitmap;
  readonly centreXMm: number;
  readonly centreYMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

/** What something is drawn with: a program with parts of it switched on, and values of its own. */
abstract class Material {
  protected readonly gl: WebGL2RenderingContext;
  protected abstract readonly values: Values;
  private readonly programs: ProgramFamily;
  private readonly parts = new Set<string>();

  constructor(gl: WebGL2RenderingContext, vertexSource: string, fragmentSources: readonly string[]) {
    this.gl = gl;
    this.programs = new ProgramFamily(gl, vertexSource, fragmentSources.join('\n'));
  }

  protected define(name: string, on: boolean): void {
    if (on) this.parts.add(name);
    else this.parts.delete(name);
  }

  draw(mesh: Buffers, scene: Values): void {
    this.programs.with([...this.parts].sort()).use(scene, this.values);
    mesh.draw();
  }

  dispose(): void {
    this.programs.dispose();
  }
}

/** Linear rgb of the marks: ochre dots for what is left dark, red crosses for what is scorched. */
const UNCLEARED_TINT: Rgb = [0.72, 0.36, 0.03];

const SCORCHED_TINT: Rgb = [0.55, 0.03, 0.02];

/** Steepest slope of the procedural unevenness of an intact coat, and the size of its tile. Estimates for a sprayed satin. */
const COAT = { slope: 0.022, tileMm: 57 };

/** Over a ground, which knows the film's waves itself, there is only its fine orange peel left to draw. Estimates. */
const PEEL = { slope: 0.009, tileMm: 26, finestMm: 0.2 };

const MATTE_ALPHA = 0.34;

/** The painted face. Nobody else touches its values. */
export class PaintMaterial extends Material {
  protected values: Values = {
    uCellsAcross: 1,
    uCoatTileMm: COAT.tileMm,
    uCoatSlope: COAT.slope,
    uUnclearedTint: UNCLEARED_TINT,
    uScorchedTint: SCORCHED_TINT,
  };
  private readonly surfaces: Record<Side, SurfaceTextures | null> = { left: null, right: null };
  private pictureMm = 1;
  /** In the place of a surface that is not there. */
  private readonly blank: WebGLTexture;

  constructor(gl: WebGL2RenderingContext) {
    super(gl, vertex, [microfacet, light, output, marks, fragment]);
    this.blank = loadPicture(gl, { width: 1, height: 1, data: new Uint8Array(4) }, { srgb: false, repeats: 'no' });
  }

  private set(values: Values): void {
    this.values = { ...this.values, ...values };
  }

  setPicture(picture: PicturePlace): void {
    const west = picture.centreXMm - picture.widthMm / 2;
    const north = picture.centreYMm - picture.heightMm / 2;
    this.pictureMm = picture.widthMm;
    this.set({
      uPicture: [west, north, picture.widthMm, picture.heightMm],
      uCropOval: picture.crop === 'oval' ? 1 : 0,
    });
  }

  /** The lamp's own size widens every reflection a little. */
  setCoat(intact: Rgb, gloss60: LayerGloss, sheen: 'satin' | 'matte'): void {
    const rough = (gloss: number): number => {
      const alpha = Math.hypot(alphaOfGloss60(gloss), LAMP_HALF_SIZE);
      return sheen === 'matte' ? Math.max(alpha, MATTE_ALPHA) : alpha;
    };
    const { top, under, wood } = gloss60;
    this.set({ uIntact: intact, uAlpha: [rough(top ?? wood), rough(under ?? wood), rough(wood)] });
  }

  /** The unburned slab, centred on the slab's centre; null draws one even coat. */
  setGround(ground: SurfaceTextures | null): void {
    const film: typeof COAT = ground ? PEEL : COAT;
    this.set({ uCoatSlope: film.slope, uCoatTileMm: film.tileMm });
    this.define('GROUND', ground !== null);
    if (!ground) return;
    const widthMm = ground.width * ground.pitchMm;
    const heightMm = ground.height * ground.pitchMm;
    this.set({
      uGroundColor: ground.color,
      uGroundMoments: ground.moments,
      uGround: [-widthMm / 2, -heightMm / 2, widthMm, heightMm],
    });
  }

  /** Whether bare wood is shown as it was photographed. */
  setWoodPhoto(on: boolean): void {
    this.define('WOOD_PHOTO', on);
  }

  setRelief(exaggeration: number): void {
    this.set({ uExaggeration: Math.max(0, exaggeration) });
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
    const surface = this.surfaces[side];
    this.set({
      uColor: surface?.color ?? this.blank,
      uMoments: surface?.moments ?? this.blank,
      uMarks: surface?.marks ?? this.blank,
      uHas: surface ? 1 : 0,
      uCellsAcross: surface?.width ?? 1,
    });
  }

  /** mm per cell of the finer surface, Infinity without one. */
  private get cellMm(): number {
    const cells = Math.max(this.surfaces.left?.width ?? 0, this.surfaces.right?.width ?? 0);
    return cells > 0 ? this.pictureMm / cells : Number.POSITIVE_INFINITY;
  }

  override dispose(): void {
    super.dispose();
    this.gl.deleteTexture(this.blank);
  }
}

/** Half size of the lamp's opening over its distance: a shaded workshop lamp about a metre away. Estimate. */
export const LAMP_HALF_SIZE = 0.045;

/** The values of shaders/light.glsl, the same for every material of the scene. */
export function lightValues(lamp: Lamp, lighting: 'lamp' | 'dome', slabSizeMm: number): Values {
  const distance = 4.2 * slabSizeMm;
  const balance = balanceLight(lamp, lighting);
  return {
    uLampPlace: lampDirection(lamp).map((way) => way * distance),
    uLampDistance2: distance * distance,
    uLampLight: balance.lamp,
    uDomeLight: balance.dome,
  };
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

/** The slab's rim: bark or sawn wood. Nobody else touches its values. */
export class RimMaterial extends Material {
  protected values: Values = { uBarkTile: [BARK_TILE_MM.round, BARK_TILE_MM.along] };

  constructor(gl: WebGL2RenderingContext) {
    super(gl, rimVertex, [light, output, solidWood, rimFragment]);
  }

  setSlab(slab: SlabShape): void {
    const outline = slabOutline(slab);
    this.values = {
      ...this.values,
      uWood: slab.woodColor,
      uThickness: slab.thicknessMm,
      uPith: [slab.pithXMm ?? 0, slab.pithYMm ?? 0],
      uRingMm: Math.max(0.2, slab.ringWidthMm ?? DEFAULT_RING_MM),
      uBarkWay: barkPlace(slab, outline[outline.length - 1].alongMm).wayMm,
    };
    this.define('PLANK', slab.cut === 'plank');
    this.define(
      'BARK',
      outline.some((point) => point.bark > 0),
    );
    this.define(
      'SAWN',
      outline.some((point) => point.bark < 1),
    );
  }

  /** Whether the rim is coloured as it was photographed. */
  setWoodPhoto(on: boolean): void {
    this.define('WOOD_PHOTO', on);
  }
}

/** The table under the slab, with the slab's shadows. */
export class TableMaterial extends Material {
  protected values: Values = { uLampSize: LAMP_HALF_SIZE };

  constructor(gl: WebGL2RenderingContext) {
    super(gl, vertex, [light, output, tableShadow, tableFragment]);
  }

  setSlab(slab: SlabShape): void {
    this.values = {
      ...this.values,
      uSlabSize: [slab.widthMm / 2, slab.heightMm / 2, slab.thicknessMm],
      uOval: slab.shape === 'rectangle' ? 0 : 1,
      uReach: tableReach(slab),
    };
  }

  /** sRGB, 0…1; the table is the same grey, so that it fades into the page. */
  setBackground(color: Rgb): void {
    const grey = color.map(decodeSrgb);
    this.values = { ...this.values, uBackground: grey, uTable: grey };
  }
}

/** Radius at which the table has faded into the background, mm. */
export const tableReach = (slab: SlabShape): number => 2.6 * Math.max(slab.widthMm, slab.heightMm);

/** The photographed wood, for face and rim. Owns the texture. */
export class PhotographedWood {
  private texture: WebGLTexture | null = null;
  private image: ImageBitmap | null = null;
  private readonly gl: WebGL2RenderingContext;
  values: Values = {};

  constructor(gl: WebGL2RenderingContext) {
    this.gl = gl;
  }

  set(photo: WoodPhoto | null): void {
    if ((photo?.image ?? null) !== this.image) {
      this.dispose();
      this.image = photo?.image ?? null;
      this.texture = photo && loadPicture(this.gl, photo.image, { srgb: true, repeats: 'no' });
    }
    if (!photo) return;
    const { centreXMm, centreYMm, widthMm, heightMm } = photo;
    this.values = {
      uWoodPhoto: this.texture,
      uWoodPlace: [centreXMm - widthMm / 2, centreYMm - heightMm / 2, widthMm, heightMm],
    };
  }

  dispose(): void {
    this.gl.deleteTexture(this.texture);
  }
}

const COAT_PX = 256;

const COAT_OCTAVES: Octaves = [
  [9, 1],
  [19, 0.6],
  [41, 0.34],
  [83, 0.16],
];

/** The unevenness of a sprayed coat as a texture. */
export const loadCoat = (gl: WebGL2RenderingContext): WebGLTexture => loadSlopes(gl, noiseTile(COAT_PX, COAT_OCTAVES));

/**
 * A repeating square tile of heights 0…1 as a texture: slopes east and south around 0.5, their mean square, and the height. Slopes
 * are ±1 at most: as shares of the tile's steepest.
 */
export function loadSlopes(gl: WebGL2RenderingContext, height: Float32Array): WebGLTexture {
  const size = Math.sqrt(height.length);
  const at = (x: number, y: number): number => height[((y + size) % size) * size + ((x + size) % size)];
  const slopes = new Float32Array(size * size * 2);
  let steepest = 1e-9;
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      const i = 2 * (y * size + x);
      slopes[i] = at(x + 1, y) - at(x - 1, y);
      slopes[i + 1] = at(x, y + 1) - at(x, y - 1);
      steepest = Math.max(steepest, Math.abs(slopes[i]), Math.abs(slopes[i + 1]));
    }
  }
  const data = new Uint8Array(size * size * 4);
  for (let i = 0; i < size * size; i++) {
    const east = slopes[2 * i] / steepest;
    const south = slopes[2 * i + 1] / steepest;
    data[4 * i] = Math.round(127.5 + 127.5 * east);
    data[4 * i + 1] = Math.round(127.5 + 127.5 * south);
    data[4 * i + 2] = Math.round(127.5 * (east * east + south * south));
    data[4 * i + 3] = Math.round(255 * height[i]);
  }
  const picture = { width: size, height: size, data };
  return loadPicture(gl, picture, { srgb: false, repeats: 'both', reading: 'plain-levels' });
}
