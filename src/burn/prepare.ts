import { cutPicture } from '../image/cut.ts';
import { lightnessToLuminance, luminancesToLightnesses, luminanceToLightness } from '../image/lightness.ts';
import { paintStrokes } from '../image/mask/brush.ts';
import { healPicture } from '../image/mask/heal.ts';
import { layMatte } from '../image/mask/lay-matte.ts';
import { applyVignette, smoothStep } from '../image/mask/vignette.ts';
import { type DecodedPhoto, type Picture, rotatePicture, type ToneImage } from '../image/picture.ts';
import { equalizeLocally } from '../image/repair/clahe.ts';
import { findDefects } from '../image/repair/defects.ts';
import { reduceNoise } from '../image/repair/denoise.ts';
import { repairFade } from '../image/repair/fade.ts';
import { inpaint } from '../image/repair/inpaint.ts';
import { resamplePicture } from '../image/resample.ts';
import { screenTone } from '../image/screens/screen-tone.ts';
import { adjustTone } from '../image/tone.ts';
import { insetPerimeter } from '../physics/bed/bed.ts';
import { type AppearanceTable, buildAppearance, burnDirection } from '../physics/material/appearance.ts';
import { createFace, type Face } from '../physics/raster/face.ts';
import {
  createPassRaster,
  findSpans,
  leastGapMm,
  orientToRaster,
  type ScreenedPass,
} from '../physics/raster/pass-raster.ts';
import { feedOf } from '../physics/raster/pass-time.ts';
import { burnFrame, pictureFrame, strokesInCut, turnOf, uprightHeightMm } from '../piece/frame.ts';
import {
  type BurnPlaces,
  type Coat,
  isModelMethod,
  type Pass,
  type PictureSettings,
  type Piece,
  type Repair,
  type Tone,
} from '../piece/schema.ts';
import { unpackTiles } from '../piece/tiles.ts';
import { aimAt, type PlacedDots } from './dot-work.ts';
import { fineDots, fineDotsNow, type SearchHooks, type SearchSoFar } from './fine-dots.ts';
import { burnLettering, letterLayers } from './lettering.ts';
import { createMemo } from './memo.ts';
import { placeDots } from './place-dots.ts';

/** A decoded photograph with a name that changes whenever its pixels do. */
export interface Photo extends DecodedPhoto {
  readonly key: string;
}

/** The photo with so much of its cast taken away as the piece asks for, and its scratches healed. */
export function sourcePicture({ picture, castless }: Photo, { repair: { cast }, heals }: PictureSettings): Picture {
  if (cast === 0 || !castless) return healed(picture, picture, 0, heals);
  if (heals.length > 0 && healing.get(picture)?.key === healKey(cast, heals))
    return healed(picture, picture, cast, heals);
  const luminance = picture.luminance.map((value, i) => value + cast * (castless.luminance[i] - value));
  return healed({ ...picture, luminance }, picture, cast, heals);
}

/** The last healing of each photograph: quick look and proof ask for the same. */
const healing = new WeakMap<Picture, { readonly key: string; readonly picture: Picture }>();

const healKey = (cast: number, heals: PictureSettings['heals']): string => JSON.stringify([cast, heals]);

function healed(picture: Picture, photo: Picture, cast: number, heals: PictureSettings['heals']): Picture {
  if (heals.length === 0) return picture;
  const key = healKey(cast, heals);
  const known = healing.get(photo);
  if (known?.key === key) return known.picture;
  const whole = healPicture(picture, heals);
  healing.set(photo, { key, picture: whole });
  return whole;
}

/** What decides the placed picture before its repair, beside the photograph. */
export const sourceKey = ({ widthMm, rotationRad, repair, cut, heals }: PictureSettings): unknown => [
  widthMm,
  rotationRad,
  repair.cast,
  cut,
  heals,
];

const dots = (lengthMm: number, pitchMm: number): number => Math.max(1, Math.round(lengthMm / pitchMm));

interface FrameDots {
  readonly width: number;
  readonly height: number;
  /** Where the picture itself begins in it, and its own size. */
  readonly left: number;
  readonly top: number;
  readonly own: { readonly width: number; readonly height: number };
}

/** Dots of all that is burned of a placed picture, at a pitch; the picture itself lies in the middle, on whole dots. */
export function frameDots(piece: Piece, photo: Size, pitchMm: number): FrameDots {
  const picture = pictureFrame(piece.picture, photo);
  const all = burnFrame(piece, photo);
  const own = { width: dots(picture.widthMm, pitchMm), height: dots(picture.heightMm, pitchMm) };
  const left = Math.round((all.widthMm - picture.widthMm) / 2 / pitchMm);
  const top = Math.round((all.heightMm - picture.heightMm) / 2 / pitchMm);
  return { width: own.width + 2 * left, height: own.height + 2 * top, left, top, own };
}

/** The photo as it lies on the slab, at a pitch: resampled and turned, with nothing round it where lettering stands beside. */
export function placedPicture(piece: Piece, picture: Picture, pitchMm: number): Picture {
  const frame = frameDots(piece, picture, pitchMm);
  return padded(ownPicture(piece, picture, pitchMm, frame.own), frame);
}

function ownPicture(piece: Piece, picture: Picture, pitchMm: number, { width, height }: Size): Picture {
  const { cut } = piece.picture;
  const sized = (columns: number, rows: number) =>
    cut ? cutPicture(picture, cut, columns, rows) : resamplePicture(picture, columns, rows);
  if (piece.picture.rotationRad === 0) return sized(width, height);
  const upright = sized(dots(piece.picture.widthMm, pitchMm), dots(uprightHeightMm(piece.picture, picture), pitchMm));
  return rotatePicture(upright, turnOf(piece.picture), width, height);
}

function padded(picture: Picture, { width, height, left, top }: FrameDots): Picture {
  if (left === 0 && top === 0) return picture;
  const luminance = new Float32Array(width * height);
  const alpha = new Float32Array(width * height);
  for (let y = 0; y < picture.height; y++) {
    const [from, to] = [y * picture.width, (y + top) * width + left];
    luminance.set(picture.luminance.subarray(from, from + picture.width), to);
    if (picture.alpha) alpha.set(picture.alpha.subarray(from, from + picture.width), to);
    else alpha.fill(1, to, to + picture.width);
  }
  return { width, height, luminance, alpha };
}

export interface Preparation {
  /** The picture at a pitch with its tones, masked to its crop and to the slab. */
  tone(photo: Photo, piece: Piece, pitchMm: number, tone: Tone): ToneImage;
  /** A pass's raster, screened; the very same one as long as nothing that decides it changes. `fires` says which levels let light out. */
  screen(photo: Photo, piece: Piece, pass: Pass, fires: (level: number) => boolean): ScreenedPass;
  /**
   * Searches a pass's dots where its screen is found by a search, so that `screen`, which would search them at once, has them. Stopped, it goes
   * on where it was when the same dots are asked for again. Throws Cancelled.
   */
  search(photo: Photo, piece: Piece, pass: Pass, hooks: SearchHooks): Promise<void>;
  /** Luminances that a pass's dots are placed for, in its raster (Y, 0–1); null where its screen does not go by the burn. */
  aim(photo: Photo, piece: Piece, pass: Pass): Float32Array | null;
}

interface Searched {
  /** All that was found; null as long as the search is not through. */
  levels: Uint8Array | null;
  soFar: SearchSoFar;
}

/** What searches have found of each photograph, the last few, stopped ones too: for whoever makes the same pass ready once more. */
const searched = new WeakMap<Picture, Map<string, Searched>>();

const SEARCHED_KEPT = 4;

function searchedOf({ picture }: Photo, key: string): Searched {
  const of = searched.get(picture) ?? new Map<string, Searched>();
  searched.set(picture, of);
  const one = of.get(key) ?? { levels: null, soFar: [] };
  // Last in the row again: the one that nobody asked for longest goes.
  of.delete(key);
  of.set(key, one);
  if (of.size > SEARCHED_KEPT) of.delete(of.keys().next().value as string);
  return one;
}

/** The tones that a pass burns. What places dots by the burn needs no curve: it knows what becomes of a tone. */
export const toneOf = (piece: Piece, pass: Pass): Tone => {
  const tone = pass.tone ?? piece.picture.tone;
  return isModelMethod(pass.screen) ? { ...tone, curve: [] } : tone;
};

/** The pass that decides where the burn's dots lie: the first over the same raster and tones. A further one, to go over a weak one, must hit its dots. */
export function leadOf(piece: Piece, pass: Pass): Pass {
  const dotsOf = (one: Pass) => JSON.stringify([one.screen, one.rowPitchMm, one.headingRad, toneOf(piece, one)]);
  const dots = dotsOf(pass);
  return piece.passes.find((one) => dotsOf(one) === dots) ?? pass;
}

/** What of a piece decides where the burn's dots lie, beside the picture. */
const burnKey = ({ machine: { control: _, name: __, ...machine }, stack, slab, heat }: Piece, pass: Pass): string =>
  JSON.stringify([machine, stack.coats, slab.wood, slab.bowMm, slab.domeMm, heat, { ...pass, tone: null, only: null }]);

/**
 * The stages before the burn, each kept by what it depends on, so that a change of power does none of them again. `once`: nothing is
 * asked for again with other tones, so the picture is toned in its own place, which saves the largest plane there is.
 */
export function createPreparation(once = false): Preparation {
  const resampled = createMemo<Picture>(once ? 0 : 3);
  const repaired = createMemo<Picture>(once ? 0 : 3);
  const toned = createMemo<ToneImage>(4);
  const screened = createMemo<Omit<ScreenedPass, 'spans'>>(6);
  const travelled = createMemo<ScreenedPass>(8);
  const placed = createMemo<PlacedDots>(once ? 1 : 2);

  function tone(photo: Photo, piece: Piece, pitchMm: number, settings: Tone): ToneImage {
    const { width, height } = frameDots(piece, photo.picture, pitchMm);
    return toned(JSON.stringify([placedKey(photo, piece, pitchMm), settings]), () => {
      const { repair } = piece.picture;
      const placed = JSON.stringify([photo.key, pitchMm, width, height, sourceKey(piece.picture)]);
      const picture = repaired(JSON.stringify([placed, repair]), () => {
        const whole = resampled(placed, () => placedPicture(piece, sourcePicture(photo, piece.picture), pitchMm));
        return repairPicture(whole, repair, pitchMm);
      });
      const ours =
        once && picture.luminance !== photo.picture.luminance && picture.luminance !== photo.castless?.luminance;
      const image = adjustTone(picture, settings, pitchMm, ours ? picture.luminance : undefined);
      const mask = pictureMask(piece, photo.picture, width, height, pitchMm);
      if (directionOf(piece) === 'darkens') fadeToLight(image, mask);
      else for (let i = 0; i < mask.length; i++) image.mask[i] = (image.mask[i] * mask[i] + 127) / 255;
      burnLettering(image, letterLayers(piece, photo.picture, width, height, pitchMm), directionOf(piece));
      return image;
    });
  }

  /** The picture as a pass's raster sees it, and what decides its dots. */
  function inRaster(photo: Photo, piece: Piece, pass: Pass) {
    const settings = toneOf(piece, pass);
    const pitchMm = pass.rowPitchMm;
    const image = tone(photo, piece, pitchMm, settings);
    const burn = isModelMethod(pass.screen) ? burnKey(piece, leadOf(piece, pass)) : null;
    const dots = [image.width, image.height, pass.headingRad, pass.screen, pass.serpentine, settings, burn];
    const raster = createPassRaster(image.width * pitchMm, image.height * pitchMm, pitchMm, pass.headingRad);
    const key = JSON.stringify([placedKey(photo, piece, pitchMm), dots]);
    return { image, raster, oriented: () => orientToRaster(image, pitchMm, raster), key };
  }

  function place(photo: Photo, piece: Piece, pass: Pass): PlacedDots {
    const { raster, oriented, key } = inRaster(photo, piece, pass);
    return placed(key, () => {
      return placeDots(piece, leadOf(piece, pass), oriented(), raster, appearanceOf(piece));
    });
  }

  async function search(photo: Photo, piece: Piece, pass: Pass, hooks: SearchHooks): Promise<void> {
    if (pass.screen !== 'direct-search') return;
    const { key } = inRaster(photo, piece, pass);
    const { levels, soFar } = searchedOf(photo, key);
    if (levels) return;
    const found = await fineDots(place(photo, piece, pass), hooks, soFar);
    Object.assign(searchedOf(photo, key), { levels: found, soFar: [] });
  }

  function screen(photo: Photo, piece: Piece, pass: Pass, fires: (level: number) => boolean): ScreenedPass {
    const { image, raster: along, oriented, key: everywhere } = inRaster(photo, piece, pass);
    const levelsOf = (turned: ToneImage): Uint8Array => {
      if (!isModelMethod(pass.screen)) return screenTone(turned, pass.screen, { serpentine: pass.serpentine });
      const found = searched.get(photo.picture)?.get(everywhere)?.levels;
      if (pass.screen === 'direct-search' && found) return found;
      const dots = place(photo, piece, pass);
      return pass.screen === 'direct-search' ? fineDotsNow(dots) : dots.levels;
    };
    const whole = screened(everywhere, () => {
      const turned = oriented();
      return { raster: along, levels: levelsOf(turned), mask: turned.mask };
    });
    // Screened as a whole first: a pass in some places must hit the same dots there as one everywhere.
    const dots = pass.only ? `${everywhere} ${JSON.stringify(pass.only)}` : everywhere;
    const result = pass.only
      ? screened(dots, () => {
          const { own } = frameDots(piece, photo.picture, pass.rowPitchMm);
          const oriented = orientToRaster(onlyWhere(image, own, pass.only), pass.rowPitchMm, whole.raster);
          return { ...whole, mask: oriented.mask };
        })
      : whole;
    const { raster, levels, mask } = result;
    const leastGap = leastGapMm(feedOf(pass, piece.machine.motion), piece.machine.motion) / pass.rowPitchMm;
    const twoWay = pass.rows === 'two-way';
    const firing = Array.from({ length: 256 }, (_, level) => (fires(level) ? 1 : 0)).join('');
    return travelled(`${dots} ${firing} ${twoWay} ${leastGap}`, () => {
      const spans = findSpans(levels, mask, raster.columns, raster.rows, fires, twoWay, leastGap);
      return { raster, levels, mask, spans };
    });
  }

  function aim(photo: Photo, piece: Piece, pass: Pass): Float32Array | null {
    if (!isModelMethod(pass.screen)) return null;
    const { work } = place(photo, piece, pass);
    const out = new Float32Array(work.lightness.length);
    for (let i = 0; i < out.length; i++) out[i] = aimAt(work, i);
    return out;
  }

  return { tone, screen, search, aim };
}

/** The picture with nothing to burn where the squares over it are 0, and beyond them. */
function onlyWhere(image: ToneImage, own: Size, only: BurnPlaces | null): ToneImage {
  if (!only) return image;
  const { width, height } = image;
  const { columns, rows, across, down } = only;
  const tiles = unpackTiles(only);
  /** Which square a dot lies in, along one side. */
  const squareOf = (dot: number, dots: number, box: number, squares: number) =>
    Math.floor(((dot + 0.5 - dots / 2) / box + 0.5) * squares + 1e-9);
  const mask = image.mask.map((value, i) => {
    const column = squareOf(i % width, width, own.width * across, columns);
    const row = squareOf(Math.floor(i / width), height, own.height * down, rows);
    const beyond = column < 0 || row < 0 || column >= columns || row >= rows;
    return beyond || tiles[row * columns + column] === 0 ? 0 : value;
  });
  return { ...image, mask };
}

/** What decides which dots a picture has and which of them may burn. */
function placedKey(photo: Photo, piece: Piece, pitchMm: number): unknown {
  const { tone: _, file: __, ...placed } = piece.picture;
  const { shape, widthMm, heightMm, outlineMm } = piece.slab;
  // Colours decide whether the picture fades to the dark or to the light end.
  return [photo.key, pitchMm, placed, shape, widthMm, heightMm, outlineMm, directionOf(piece)];
}

/** Where burning darkens, a picture that fades out fades to the light end: the mask becomes lightness. */
function fadeToLight({ lightness, mask }: ToneImage, faded: Uint8Array): void {
  for (let i = 0; i < mask.length; i++) {
    const share = (mask[i] * faded[i]) / 65025;
    mask[i] = share > 0 ? 255 : 0;
    if (share > 0 && share < 1)
      lightness[i] = luminanceToLightness(1 - share * (1 - lightnessToLuminance(lightness[i])));
  }
}

/** Widest scratch that is looked for, mm, and how far one must stand out at full strength and at the least, lightness 0–1. */
const SCRATCH_MM = 0.5;

const STANDS_OUT = [0.25, 0.06] as const;

/** Lightness of grain that the strongest noise reduction evens out, 0–1, and its reach, mm. */
const STRONGEST_NOISE = 0.08;

const NOISE_MM = 0.3;

const isUntouched = ({ fade, localContrast, noise, scratches }: Repair): boolean =>
  fade === 0 && localContrast === 0 && noise === 0 && scratches === 0;

/**
 * The placed picture with what an old print lost put right: scratches filled first, then grain evened, then fading lifted, then
 * local contrast. All of it on lightness, at the size on the slab.
 */
export function repairPicture(picture: Picture, repair: Repair, pitchMm: number): Picture {
  if (isUntouched(repair)) return picture;
  const { width, height, alpha } = picture;
  const mask = alpha ? Uint8Array.from(alpha, (cover) => (cover > 0.5 ? 255 : 0)) : null;
  let plane = luminancesToLightnesses(picture.luminance);
  if (repair.scratches > 0) {
    const radius = Math.min(50, Math.max(1, Math.round(SCRATCH_MM / 2 / pitchMm)));
    const threshold = STANDS_OUT[0] + (STANDS_OUT[1] - STANDS_OUT[0]) * repair.scratches;
    const marked = findDefects(plane, width, height, { radius, threshold });
    plane = inpaint(plane, width, height, marked);
  }
  if (repair.noise > 0) {
    const radius = Math.max(1, Math.round(NOISE_MM / pitchMm));
    plane = reduceNoise(plane, width, height, { radius, strength: STRONGEST_NOISE * repair.noise });
  }
  if (repair.fade > 0) plane = repairFade(plane, width, height, { amount: repair.fade }, mask).plane;
  if (repair.localContrast > 0) {
    plane = equalizeLocally(plane, width, height, { amount: repair.localContrast }, mask);
  }
  return { width, height, luminance: plane.map(lightnessToLuminance), alpha };
}

type Size = { readonly width: number; readonly height: number };

/**
 * What of the placed picture may burn, 0–255 a dot: its crop and the slab's outline, falling off towards the crop's edge, less what the
 * brush has taken away.
 */
export function pictureMask(piece: Piece, photo: Size, width: number, height: number, pitchMm: number): Uint8Array {
  const outside = outsideMask(piece, photo, width, height, pitchMm);
  const { fallOffMm, strokes, matte, cut, crop, rotationRad } = piece.picture;
  if (fallOffMm === 0 && strokes.length === 0 && !matte) return outside;
  const { own, left, top } = frameDots(piece, photo, pitchMm);
  const upright =
    rotationRad === 0
      ? own
      : {
          width: Math.max(1, Math.round(piece.picture.widthMm / pitchMm)),
          height: Math.max(1, Math.round(uprightHeightMm(piece.picture, photo) / pitchMm)),
        };
  let mask: Uint8Array = new Uint8Array(upright.width * upright.height).fill(255);
  const shape = crop === 'oval' ? 'oval' : 'rectangle';
  if (fallOffMm > 0) mask = applyVignette(mask, upright.width, upright.height, pitchMm, { shape, fallOffMm });
  if (matte) {
    const { tiles } = matte;
    mask = layMatte(mask, upright.width, upright.height, { ...tiles, values: unpackTiles(tiles) }, cut);
  }
  if (strokes.length > 0) {
    mask = paintStrokes(mask, upright.width, upright.height, strokesInCut(strokes, cut));
  }
  const turned = rotationRad === 0 ? mask : turnMask(mask, upright, piece, own);
  const towardsRim = crop === 'outline' && fallOffMm > 0 ? rimFade(piece, width, height, pitchMm) : null;
  for (let y = 0; y < own.height; y++) {
    for (let x = 0; x < own.width; x++) {
      const at = (y + top) * width + x + left;
      if (outside[at] === 0) continue;
      const value = turned[y * own.width + x];
      outside[at] = towardsRim ? Math.min(value, towardsRim(at)) : value;
    }
  }
  return outside;
}

/** How a picture whose crop follows the rim falls off towards it, 0–255 a dot. */
function rimFade(piece: Piece, width: number, height: number, pitchMm: number): (i: number) => number {
  const { offsetXMm, offsetYMm, fallOffMm, rimMm } = piece.picture;
  const { rimDistanceMm } = createFace(piece.slab);
  return (i) => {
    const x = offsetXMm + ((i % width) + 0.5 - width / 2) * pitchMm;
    const y = offsetYMm + (Math.floor(i / width) + 0.5 - height / 2) * pitchMm;
    return Math.round(255 * smoothStep((rimDistanceMm(x, y) - rimMm) / fallOffMm));
  };
}

function turnMask(mask: Uint8Array, size: Size, piece: Piece, { width, height }: Size): Uint8Array {
  const luminance = Float32Array.from(mask, (value) => value / 255);
  const turned = rotatePicture({ ...size, luminance, alpha: null }, turnOf(piece.picture), width, height);
  return Uint8Array.from(turned.luminance, (value) => 255 * value + 0.5);
}

/** 255 where a grid over the placed picture lies inside the picture's crop and on the slab, 0 elsewhere; row-major. */
export function outsideMask(
  piece: Piece,
  photo: { readonly width: number; readonly height: number },
  width: number,
  height: number,
  pitchMm: number,
): Uint8Array {
  const { offsetXMm, offsetYMm } = piece.picture;
  const face = cropFace(piece);
  const { own } = frameDots(piece, photo, pitchMm);
  const mask = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    const fromMiddleY = (y + 0.5 - height / 2) * pitchMm;
    const picture = cropSpan(piece.picture, photo, own.width * pitchMm, own.height * pitchMm, fromMiddleY);
    if (!picture) continue;
    const spans = face.spans(offsetYMm + fromMiddleY);
    for (let i = 0; i + 1 < spans.length; i += 2) {
      const leftMm = Math.max(spans[i] - offsetXMm, picture[0]);
      const rightMm = Math.min(spans[i + 1] - offsetXMm, picture[1]);
      const from = Math.max(0, Math.ceil(leftMm / pitchMm + width / 2 - 0.5));
      const to = Math.min(width, Math.floor(rightMm / pitchMm + width / 2 - 0.5) + 1);
      if (to > from) mask.fill(255, y * width + from, y * width + to);
    }
  }
  return mask;
}

/** The part of the slab's face on which the picture may lie. */
function cropFace({ slab, picture }: Piece): Pick<Face, 'spans'> {
  if (picture.crop !== 'outline' || picture.rimMm === 0) return createFace(slab);
  const rim = insetPerimeter(slab, picture.rimMm);
  return rim ? createFace({ ...slab, shape: 'outline', outlineMm: rim.map(([x, y]) => [x, y]) }) : { spans: () => [] };
}

/** Where a line at a height from the picture's middle crosses its crop, mm from the middle; null beyond it. */
function cropSpan(
  picture: PictureSettings,
  photo: { readonly width: number; readonly height: number },
  frameWidthMm: number,
  frameHeightMm: number,
  yMm: number,
): [number, number] | null {
  const { cosine, sine } = turnOf(picture);
  // An upright picture fills its grid to the last dot, whatever was rounded.
  const upright = sine === 0;
  const a = (upright ? frameWidthMm : picture.widthMm) / 2;
  const b = (upright ? frameHeightMm : uprightHeightMm(picture, photo)) / 2;
  if (picture.crop === 'oval') {
    // |(u/a, v/b)| ≤ 1 with u = x·cos − y·sin, v = x·sin + y·cos: a square in x.
    const p = (cosine / a) ** 2 + (sine / b) ** 2;
    const q = yMm * cosine * sine * (1 / (b * b) - 1 / (a * a));
    const r = yMm * yMm * ((sine / a) ** 2 + (cosine / b) ** 2) - 1;
    const root = q * q - p * r;
    return root < 0 ? null : [(-q - Math.sqrt(root)) / p, (-q + Math.sqrt(root)) / p];
  }
  let [left, right] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  for (const [perX, perY, half] of [
    [cosine, -sine, a],
    [sine, cosine, b],
  ]) {
    if (perX === 0) {
      if (Math.abs(perY * yMm) > half) return null;
      continue;
    }
    const ends = [(-half - perY * yMm) / perX, (half - perY * yMm) / perX].sort((one, other) => one - other);
    left = Math.max(left, ends[0]);
    right = Math.min(right, ends[1]);
  }
  return right >= left ? [left, right] : null;
}

/** What of a coat decides its colour. */
export const lookOf = ({ colorLab, scatteringPerMm, dryThicknessUm, absorptance, scorchOnsetJPerMm2 }: Coat) => [
  colorLab,
  scatteringPerMm,
  dryThicknessUm,
  absorptance,
  scorchOnsetJPerMm2,
];

const tables = createMemo<AppearanceTable>(4);

/** The colours of a piece's burn; pieces that look alike have the very same ones. */
export const appearanceOf = ({ stack, slab, machine }: Piece): AppearanceTable =>
  tables(JSON.stringify([stack.coats.map(lookOf), slab.wood, machine.airFlow]), () =>
    buildAppearance(stack, slab.wood, machine.airFlow),
  );

const directions = createMemo<'lightens' | 'darkens'>(16);

/** Whether burning a piece lightens or darkens it; what asks again soon pays nothing for its spectra. */
export function directionOf({ stack, slab }: Piece): 'lightens' | 'darkens' {
  const coats = stack.coats.map(({ colorLab, scatteringPerMm, dryThicknessUm }) => [
    colorLab,
    scatteringPerMm,
    dryThicknessUm,
  ]);
  return directions(JSON.stringify([coats, slab.wood.colorLab]), () => burnDirection(stack, slab.wood));
}
