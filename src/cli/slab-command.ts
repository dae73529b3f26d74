import { createHash } from 'node:crypto';
import { stat } from 'node:fs/promises';
import { basename, extname } from 'node:path';
import sharp from 'sharp';
import { areaMm2, boundsMm, type Point, perimeterMm } from '../base/geometry/outline.ts';
import { thinOutline } from '../base/geometry/raster-mask.ts';
import { checkPhoto, type RgbaPhoto } from '../base/geometry/rgba-photo.ts';
import { createPiece } from '../piece/defaults.ts';
import { encodePieceFile, type PieceFile } from '../piece/file.ts';
import type { Defect } from '../vision/slab/defects.ts';
import { type FacePicture, pictureFace } from '../vision/slab/face-picture.ts';
import { findBankCard } from '../vision/slab/find-bank-card.ts';
import { DISTORTION, rectifyPhoto } from '../vision/slab/rectify.ts';
import { type Marks, scaleFromMarks } from '../vision/slab/scale.ts';
import { readSlab, type SlabReading } from '../vision/slab/slab-from-photo.ts';
import {
  maskedRimOf,
  type Quarters,
  slabPart,
  turnDefect,
  turnPolygon,
  usefulPitchMm,
  visibleArea,
} from '../vision/slab/slab-part.ts';
import { outlineToSvg } from '../vision/slab/svg.ts';
import type { Command } from './io.ts';
import { CliError, numberOption, quantityOption, UsageError } from './options.ts';
import { readPieceFile, readRgba } from './read-files.ts';

export const SLAB: Command = {
  name: 'slab',
  operands: 'PHOTO',
  summary: 'Find a slab in a photograph; write its outline at true size, or all of it into a piece.',
  options: [
    {
      name: 'scale',
      value: '"card X,Y X,Y X,Y X,Y"',
      help: 'corners of a bank card in pixels of the photograph, in order round it, found by itself without them; or "rectangle 300x200" (mm) and its corners; or "ruler 100" (mm) and two points',
    },
    { name: 'lens', value: 'K1', help: 'distortion of the lens, -0.5 to 0.5 (default 0)' },
    { name: 'turn', value: 'DEG', help: 'turn what was found clockwise by 90, 180 or 270 degrees' },
    {
      name: 'out',
      value: 'FILE',
      help: 'an .svg in mm (default, unless --piece is given: PHOTO without its ending, -outline.svg)',
    },
    {
      name: 'piece',
      value: 'FILE',
      help: 'a .foreburn file that takes the slab with its knots, checks, rim and face; what else it holds stays; made if it is not there',
    },
    { name: 'json', help: 'print outline, zones, knots and checks, size and area' },
  ],
  async run(operands, values, io) {
    if (operands.length !== 1) throw new UsageError('slab: give one photograph');
    const [path] = operands;
    if (values['scale'] === undefined) {
      throw new UsageError(
        'slab: --scale is missing; it says what gives the photograph its size, as in --scale "ruler 100 80,620 840,610"',
      );
    }
    const told = parseScale(values['scale'] as string);
    const k1 = values['lens'] === undefined ? 0 : quantityOption('--lens', values['lens'] as string, DISTORTION);
    const quarters = quartersOption(values['turn'] as string | undefined);
    const piece = values['piece'] as string | undefined;
    if (piece !== undefined && extname(piece).toLowerCase() !== '.foreburn') {
      throw new UsageError(`--piece: must end with .foreburn, which holds pictures too, got "${piece}"`);
    }
    const outline = piece === undefined ? `${basename(path, extname(path))}-outline.svg` : null;
    const out = (values['out'] as string | undefined) ?? outline;
    if (out !== null && extname(out).toLowerCase() !== '.svg') {
      throw new UsageError(`--out: must end with .svg, got "${out}"`);
    }
    if (out !== null) await io.outputs.claim(out);
    if (piece !== undefined) await io.outputs.claim(piece);
    const into = piece === undefined ? null : await pieceAt(piece);
    const photo = await readRgba(path);
    const marks = told === 'card' ? cardIn(path, photo) : told;
    const { slab, face, notes, pixelMm } = find(path, photo, marks, k1, quarters);
    if (out !== null) await io.outputs.write(out, outlineToSvg(slab.outline));
    if (piece !== undefined && into !== null) {
      await io.outputs.write(piece, encodePieceFile(await withSlab(into, slab, face())));
    }
    const file = out ?? piece ?? '';
    if (values['json']) io.out(`${JSON.stringify({ file, pixelMm, ...report(slab), notes }, null, 2)}\n`);
    else io.out(`${[words(file, slab), ...slab.defects.map(defectWords), ...notes].join('\n')}\n`);
  },
};

/** @throws UsageError. */
function quartersOption(text: string | undefined): Quarters {
  const quarters = ['0', '90', '180', '270'].indexOf(text ?? '0');
  if (quarters < 0) throw new UsageError(`--turn: must be 90, 180 or 270, got "${text}"`);
  return quarters as Quarters;
}

/** The bank card in a photograph as marks. @throws CliError if none is found by itself. */
function cardIn(path: string, photo: RgbaPhoto): Marks {
  const corners = findBankCard(photo);
  if (corners) return { kind: 'card', corners };
  throw new CliError(
    `${path}: no bank card was found by itself; give its corners, as in --scale "card X,Y X,Y X,Y X,Y"`,
  );
}

/** Reads `card`, `card X,Y …`, `rectangle WxH X,Y …`, `ruler MM X,Y …`. @throws UsageError. */
function parseScale(text: string): Marks | 'card' {
  const [kind, ...words] = text.trim().split(/\s+/);
  const places = (from: number, count: number): Point[] => {
    const given = words.slice(from);
    if (given.length !== count) {
      throw new UsageError(`--scale: "${kind}" takes ${count} points, got ${given.length} in "${text}"`);
    }
    return given.map((word): Point => {
      const [x, y, ...more] = word.split(',').map((part) => (part === '' ? Number.NaN : Number(part)));
      if (more.length > 0 || !Number.isFinite(x) || !Number.isFinite(y)) {
        throw new UsageError(`--scale: "${word}" is not a point, which is written X,Y`);
      }
      return [x, y];
    });
  };
  const length = (word: string | undefined): number => numberOption(`--scale ${kind}, mm`, word ?? '', 0.1, 100000);
  switch (kind) {
    case 'card':
      return words.length === 0 ? 'card' : { kind, corners: places(0, 4) };
    case 'rectangle': {
      const [width, height, ...more] = (words[0] ?? '').split('x');
      if (more.length > 0) throw new UsageError(`--scale: the size of a rectangle is written WxH, got "${words[0]}"`);
      return { kind, widthMm: length(width), heightMm: length(height), corners: places(1, 4) };
    }
    case 'ruler':
      return { kind, lengthMm: length(words[0]), ends: places(1, 2) };
    default:
      throw new UsageError(`--scale: begins with card, rectangle or ruler, got "${kind}"`);
  }
}

/** @throws CliError naming the photo and what is wrong with it or with its marks. */
function find(path: string, photo: RgbaPhoto, marks: Marks, k1: number, quarters: Quarters) {
  try {
    checkPhoto(photo);
    const scale = scaleFromMarks(photo, marks, k1);
    const area = visibleArea(photo, scale);
    const flat = rectifyPhoto(photo, scale, area, usefulPitchMm(area, scale));
    const found = readSlab(flat);
    if (found.kind === 'refused') throw new RangeError(found.message);
    const shift: Point = [flat.leftMm - found.face.leftMm, flat.topMm - found.face.topMm];
    const face = () => pictureFace(photo, scale, found.outline, { shift, quarters });
    const slab = turnReading(found, quarters);
    return { slab, face, notes: [...scale.notes, ...found.notes], pixelMm: scale.pixelMm };
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new CliError(`${path}: ${error.message}`);
  }
}

/** What is told and written of a reading, turned; its face and the insets along its rim stay as they were found. */
const turnReading = (slab: SlabReading, quarters: Quarters): SlabReading => ({
  ...slab,
  outline: turnPolygon(slab.outline, quarters),
  lightWood: turnPolygon(slab.lightWood, quarters),
  zones: { ...slab.zones, paintable: turnPolygon(slab.zones.paintable, quarters) },
  defects: slab.defects.map((defect) => turnDefect(defect, quarters)),
});

function report({ outline, zones, lightWood, defects }: SlabReading) {
  const { left, top, right, bottom } = boundsMm(outline);
  return {
    widthMm: right - left,
    heightMm: bottom - top,
    areaMm2: areaMm2(outline),
    perimeterMm: perimeterMm(outline),
    outlineMm: outline,
    zones: {
      seenShare: zones.seen,
      barkInsetMm: mean(zones.barkInsetMm),
      woodInsetMm: mean(zones.woodInsetMm),
      maskInsetMm: mean(zones.maskInsetMm),
      maskingLineMm: zones.paintable,
      lightWoodMm: lightWood,
    },
    defects,
  };
}

function words(out: string, slab: SlabReading): string {
  const { widthMm, heightMm, areaMm2: area, zones } = report(slab);
  const size = `${widthMm.toFixed(1)} × ${heightMm.toFixed(1)} mm, ${(area / 100).toFixed(1)} cm²`;
  return zones.seenShare > 0
    ? `${out}: ${size}; masking line ${zones.maskInsetMm.toFixed(1)} mm in.`
    : `${out}: ${size}.`;
}

function defectWords(defect: Defect): string {
  const place = `at ${defect.xMm.toFixed(1)}, ${defect.yMm.toFixed(1)} mm from the middle`;
  return defect.kind === 'knot'
    ? `Knot of ${defect.diameterMm.toFixed(1)} mm ${place}.`
    : `Drying check of ${defect.lengthMm.toFixed(1)} mm ${place}.`;
}

const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

/**
 * A piece that has taken a found slab with its picture; all else in it stays.
 * @param slab and picture as they are turned in the end.
 */
async function withSlab({ piece, images }: PieceFile, slab: SlabReading, picture: FacePicture): Promise<PieceFile> {
  const { width, height, box } = picture;
  const jpeg = await sharp(picture.rgba, { raw: { width, height, channels: 4 } })
    .removeAlpha()
    .jpeg({ quality: 90 })
    .toBuffer();
  const file = `slab-face-${createHash('sha256').update(jpeg).digest('hex').slice(0, 24)}.jpg`;
  const kept = new Map(images);
  if (piece.slab.photo) kept.delete(piece.slab.photo.file);
  kept.set(file, jpeg);
  const part = slabPart({
    outline: thinOutline(slab.outline),
    wood: { defects: slab.defects, photo: { file, box } },
    maskedRimMm: maskedRimOf(slab.zones),
  });
  return { piece: { ...piece, slab: { ...piece.slab, ...part } }, images: kept };
}

/** The piece in a file; a new one if there is no such file. @throws CliError if it cannot be read. */
async function pieceAt(path: string): Promise<PieceFile> {
  const there = await stat(path).then(
    () => true,
    () => false,
  );
  return there ? readPieceFile(path) : { piece: createPiece('', ''), images: new Map() };
}
