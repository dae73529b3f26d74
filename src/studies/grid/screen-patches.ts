import { luminanceOf, srgbDecodingTable } from '../../base/color/srgb.ts';
import { breathe } from '../../base/stop.ts';
import type { CoarsePipeline } from '../../burn/coarse.ts';
import type { Photo } from '../../burn/prepare.ts';
import { type Crop, createProofPipeline, cropColors } from '../../burn/proof.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import { type SeenError, seenError } from '../../burn/seen-error.ts';
import { warmFactor } from '../../burn/swath.ts';
import { burnsAt, burnToneScale } from '../../burn/tone-scale.ts';
import { lightnessToLuminance, luminanceToLightness } from '../../image/lightness.ts';
import { tellingPlace } from '../../image/telling-place.ts';
import { outOfCut, uprightHeightMm } from '../../piece/frame.ts';
import { type Piece, SCREEN_METHODS, type ScreenMethod, type Stack } from '../../piece/schema.ts';

/** Side of a patch on the slab, mm: shown at that size. */
const PATCH_MM = 14;

/** A part of the picture, burned with one screen. */
export interface ScreenPatch {
  readonly method: ScreenMethod;
  readonly width: number;
  readonly height: number;
  readonly sideMm: number;
  /** RGBA8, sRGB. */
  readonly color: Uint8Array;
  /** How far it is off the photograph laid between the darkest and the lightest that the pass shows. */
  readonly error: SeenError;
}

interface PatchTools {
  readonly coarse: CoarsePipeline;
  readonly runner: SwathRunner;
  readonly signal?: AbortSignal;
}

const patchPipeline = createProofPipeline();

/** Left top corner and size of the part of a picture's scene that tells most of its tones, mm. */
export function tellingCrop(
  coarse: CoarsePipeline,
  piece: Piece,
  photo: Photo,
  widthMm: number,
  heightMm: number,
): Crop {
  const scene = coarse.scene(piece, photo);
  const { width, height, pitchMm, lightness } = scene;
  const burns = Uint8Array.from(lightness, (_, i) => (burnsAt(scene, i) ? 1 : 0));
  const size = { width: widthMm / pitchMm, height: heightMm / pitchMm };
  const place = tellingPlace({ width, height, lightness, burns }, size);
  return { xMm: place.x * pitchMm, yMm: place.y * pitchMm, widthMm, heightMm };
}

/**
 * A piece whose picture is only the part of it that tells most of its tones: upright, without lettering, burned everywhere, and as warm as all of
 * the picture is likely to be. Its own short rows would find it much warmer, so its thresholds are lowered instead.
 */
export function patchPiece(coarse: CoarsePipeline, piece: Piece, photo: Photo): Piece {
  const upright: Piece = { ...piece, picture: { ...piece.picture, rotationRad: 0, lettering: [] } };
  const { picture } = upright;
  const heightMm = uprightHeightMm(picture, photo.picture);
  const side = Math.min(PATCH_MM, picture.widthMm, heightMm);
  const { xMm, yMm } = tellingCrop(coarse, upright, photo, side, side);
  const tallness = photo.picture.height / photo.picture.width;
  const whole = picture.cut ?? { xMiddle: 0.5, yMiddle: tallness / 2, width: 1, height: tallness, turnRad: 0 };
  const middle = [xMm, yMm].map((corner) => (corner + side / 2) / picture.widthMm) as [number, number];
  const [xMiddle, yMiddle] = outOfCut(whole, middle);
  const width = (whole.width * side) / picture.widthMm;
  const cut = { ...whole, xMiddle, yMiddle, width, height: width };
  return {
    ...upright,
    picture: { ...picture, cut, widthMm: side, crop: 'rectangle', fallOffMm: 0, rimMm: 0 },
    passes: piece.passes.map((pass) => ({ ...pass, only: null })),
    stack: warmed(piece.stack, coarse.warmthsK(piece, photo)[0]),
    heat: { ...piece.heat, carryOver: false },
  };
}

/** A stack that answers cold as another does when it is warm. */
function warmed(stack: Stack, warmthK: number): Stack {
  const lowered = <Layer extends { readonly thresholdJPerMm2: number }>(layer: Layer): Layer => ({
    ...layer,
    thresholdJPerMm2: layer.thresholdJPerMm2 * warmFactor(warmthK),
  });
  return { ...stack, coats: stack.coats.map(lowered) };
}

/**
 * Burns the same part of a picture with every screen in one pass's place, in the order in which screens are offered.
 * @throws Cancelled.
 */
export async function screenPatches(
  piece: Piece,
  passIndex: number,
  photo: Photo,
  { coarse, runner, signal }: PatchTools,
  onPatch: (patch: ScreenPatch) => void,
): Promise<void> {
  const small = patchPiece(coarse, piece, photo);
  // The curve fits the tones to one stack and screen; what else was set is how the picture is wanted.
  const straight = { ...small, picture: { ...small.picture, tone: { ...small.picture.tone, curve: [] } } };
  const { lightness, mask } = patchPipeline.prepared(straight, photo);
  const ends = { tones: 2, films: [1], patchDots: 48 };
  const appearance = patchPipeline.appearance(small);
  const { rgb } = await burnToneScale(straight, appearance, runner, [], ends);
  const [darkest, lightest] = [0, 3].map((at) =>
    luminanceToLightness(luminanceOf([rgb[at], rgb[at + 1], rgb[at + 2]])),
  );
  const wanted = lightness.map((x) => lightnessToLuminance(darkest + (lightest - darkest) * x));
  for (const method of SCREEN_METHODS) {
    await breathe(signal);
    const passes = small.passes.map((pass, i) => (i === passIndex ? { ...pass, screen: method } : pass));
    const request = { piece: { ...small, passes }, photo, crop: EVERYTHING, collect: COLLECT };
    const { grid, swaths } = await patchPipeline.crop(request, runner, { signal });
    const color = cropColors({ grid, swaths });
    const error = seenError({ ...grid, burned: luminances(color), wanted, lightness, mask });
    onPatch({ method, width: grid.width, height: grid.height, sideMm: small.picture.widthMm, color, error });
  }
}

/** A crop that has all of the patch in it. */
const EVERYTHING: Crop = { xMm: 0, yMm: 0, widthMm: PATCH_MM, heightMm: PATCH_MM };
const COLLECT = { surface: true, fields: false, painted: false };

function luminances(color: Uint8Array): Float32Array {
  const table = srgbDecodingTable(8);
  return Float32Array.from({ length: color.length / 4 }, (_, i) =>
    luminanceOf([table[color[4 * i]], table[color[4 * i + 1]], table[color[4 * i + 2]]]),
  );
}
