import { type BoundsMm, moved, type Point, type Polygon } from '../../../base/geometry/outline.ts';
import { isInside, thinOutline } from '../../../base/geometry/raster-mask.ts';
import { LEAST_SIDE_PX, type RgbaPhoto, type TrueSizePhoto } from '../../../base/geometry/rgba-photo.ts';
import { pictureFace } from '../../../vision/slab/face-picture.ts';
import { findBankCard } from '../../../vision/slab/find-bank-card.ts';
import { photoToMm, rectifyPhoto } from '../../../vision/slab/rectify.ts';
import { type Marks, scaleFromMarks } from '../../../vision/slab/scale.ts';
import { readSlab } from '../../../vision/slab/slab-from-photo.ts';
import { maskedRimOf, usefulPitchMm, viewRound, visibleArea } from '../../../vision/slab/slab-part.ts';
import { svgPathToOutline, svgToOutline } from '../../../vision/slab/svg.ts';
import { findZones, type SlabZones } from '../../../vision/slab/zones.ts';
import { photoPixels } from '../../files/photo-pixels.ts';
import { serveQuestions } from '../../remote/serve.ts';
import type { SlabQuestions } from './messages.ts';
import type { Face, RimReading } from './slab-photo-store.ts';

/** Longest side that is worked with: finer ones take longer and find no more. */
const WANTED = { longestPx: 2000, leastPx: LEAST_SIDE_PX, purpose: 'a slab can be found' };
/** And for the picture that is kept. */
const FINEST_PX = 4000;
const JPEG_QUALITY = 0.9;

let opened: { readonly file: File; readonly photo: RgbaPhoto } | null = null;
/** The faces that were found last, so that an undone one can still be read anew. */
const faces = new Map<number, TrueSizePhoto>();
const MOST_FACES = 4;

serveQuestions<SlabQuestions>({
  async open({ file }, { onProgress }) {
    const photo = await open(file);
    onProgress(0, 'Looking for a bank card');
    const card = findBankCard(photo);
    return { gets: { bitmap: await toBitmap(photo.width, photo.height, photo.rgba), card } };
  },
  find: async (asks, { onProgress }) => ({ gets: await find(asks, (words) => onProgress(0, words)) }),
  rim({ faceId, outline }) {
    const face = faces.get(faceId);
    if (!face) throw new Error('To see the masking line for this outline, find the outline anew.');
    return { gets: readRim(findZones(face, outline)) };
  },
  keep: async (asks, { onProgress }) => ({ gets: await keep(asks, (words) => onProgress(0, words)) }),
  paste({ text }) {
    const drawn = text.trim();
    const { outline, notes } = drawn.startsWith('<') ? svgToOutline(drawn) : svgPathToOutline(drawn);
    return { gets: { outline: thinOutline(outline), notes } };
  },
});

type Find = SlabQuestions['find'];

async function find({ file, marks, k1, faceId }: Find['asks'], say: (words: string) => void): Promise<Find['gets']> {
  say('Opening the photograph');
  const photo = await open(file);
  const scale = scaleFromMarks(photo, marks, k1);
  say('Laying the photograph flat');
  const area = visibleArea(photo, scale);
  const flat = rectifyPhoto(photo, scale, area, usefulPitchMm(area, scale));
  say('Looking for the outline, the rim, knots and checks');
  const card = marks.kind === 'card' ? marks.corners.map((corner) => photoToMm(scale, corner)) : [];
  const ignore: Polygon[] = card.length > 0 && card.every((corner) => corner !== null) ? [card as Polygon] : [];
  const slab = readSlab(flat, { outline: { ignore } });
  if (slab.kind === 'refused') throw new RangeError(slab.message);
  const { face } = slab;
  faces.set(faceId, face);
  for (const old of [...faces.keys()].slice(0, -MOST_FACES)) faces.delete(old);
  const laid = ignore.map((area) => moved(area, face.leftMm - flat.leftMm, face.topMm - flat.topMm));
  return {
    outline: thinOutline(slab.outline),
    face: await pictureOf(face, viewRound(slab.outline), {
      id: faceId,
      quarters: 0,
      shift: [flat.leftMm - face.leftMm, flat.topMm - face.topMm],
      marks,
      k1,
    }),
    rim: readRim(slab.zones),
    defects: slab.defects.filter(({ xMm, yMm }) => !laid.some((area) => isInside(area, [xMm, yMm]))),
    // The zones' own notes come with the rim.
    notes: [...scale.notes, ...slab.notes.filter((note) => !slab.zones.notes.includes(note))],
  };
}

/** As much of a face as is shown. */
async function pictureOf(
  face: TrueSizePhoto,
  view: BoundsMm,
  known: Pick<Face, 'id' | 'quarters' | 'shift' | 'marks' | 'k1'>,
): Promise<Face> {
  const { width, height, rgba, mmPerPixel } = face;
  const column = (mm: number) => Math.min(width, Math.max(0, Math.round((mm - face.leftMm) / mmPerPixel)));
  const row = (mm: number) => Math.min(height, Math.max(0, Math.round((mm - face.topMm) / mmPerPixel)));
  const [left, right, top, bottom] = [column(view.left), column(view.right), row(view.top), row(view.bottom)];
  const whole = new ImageData(new Uint8ClampedArray(rgba), width, height);
  return {
    ...known,
    bitmap: await createImageBitmap(whole, left, top, right - left, bottom - top),
    leftMm: face.leftMm + left * mmPerPixel,
    topMm: face.topMm + top * mmPerPixel,
    widthMm: (right - left) * mmPerPixel,
    heightMm: (bottom - top) * mmPerPixel,
  };
}

function readRim({ paintable, maskInsetMm, seen, notes }: SlabZones): RimReading {
  return { paintable, maskedRimMm: maskedRimOf({ maskInsetMm, seen }), notes };
}

type Keep = SlabQuestions['keep'];

/** From the photograph as fine as it is: what is kept is looked at from near. */
async function keep(
  { file, marks, k1, outline, shift, quarters }: Keep['asks'],
  say: (words: string) => void,
): Promise<Keep['gets']> {
  const coarse = await open(file);
  const photo = await photoPixels(file, { ...WANTED, longestPx: FINEST_PX });
  say('Laying the wood flat, as fine as the photograph shows it');
  const share = photo.width / coarse.width;
  const scale = scaleFromMarks(photo, marksTimes(marks, share), k1);
  const { width, height, rgba, box } = pictureFace(photo, scale, outline, { shift, quarters });
  const canvas = new OffscreenCanvas(width, height);
  canvas.getContext('2d')?.putImageData(new ImageData(new Uint8ClampedArray(rgba), width, height), 0, 0);
  const blob = await canvas.convertToBlob({ type: 'image/jpeg', quality: JPEG_QUALITY });
  return { jpeg: new Uint8Array(await blob.arrayBuffer()), box };
}

/** Marks on the same photo at another size. */
function marksTimes(marks: Marks, share: number): Marks {
  const times = (points: readonly Point[]): Point[] => points.map(([x, y]): Point => [share * x, share * y]);
  switch (marks.kind) {
    case 'card':
    case 'rectangle':
      return { ...marks, corners: times(marks.corners) };
    case 'ruler':
      return { ...marks, ends: times(marks.ends) };
    case 'points':
      return { ...marks, photo: times(marks.photo) };
  }
}

async function open(file: File): Promise<RgbaPhoto> {
  if (opened && sameFile(opened.file, file)) return opened.photo;
  const photo = await photoPixels(file, WANTED);
  opened = { file, photo };
  return photo;
}

const sameFile = (a: File, b: File): boolean =>
  a.name === b.name && a.size === b.size && a.lastModified === b.lastModified;

const toBitmap = (width: number, height: number, rgba: RgbaPhoto['rgba']): Promise<ImageBitmap> =>
  createImageBitmap(new ImageData(new Uint8ClampedArray(rgba), width, height));
