import { encodeSrgb } from '../../base/color/srgb.ts';
import { boundsMm, drawingToSvg, type Point, type Polygon, signedAreaMm2 } from '../../base/geometry/outline.ts';
import { isInside, signedDistanceMm } from '../../base/geometry/raster-mask.ts';
import { breathe } from '../../base/stop.ts';
import { MM_PER_INCH } from '../../base/units.ts';
import { evenPower } from '../../burn/even-power.ts';
import { letteringOutlines } from '../../burn/lettering.ts';
import { planPass, subCells } from '../../burn/plan.ts';
import { createPreparation, frameDots, type Photo, toneOf } from '../../burn/prepare.ts';
import { lightnessToLuminance } from '../../image/lightness.ts';
import { pngStream } from '../../image/png-stream.ts';
import { wattsAtLevel } from '../../physics/beam/gaussian.ts';
import { burnPerimeter, picturePerimeter, placementWarnings, slabPerimeter, slabToBed } from '../../physics/bed/bed.ts';
import { createFace } from '../../physics/raster/face.ts';
import {
  fullRunUpMm,
  orientToRaster,
  type ScreenedPass,
  spansFrom,
  usedRunUpMm,
} from '../../physics/raster/pass-raster.ts';
import { feedOf, passTime } from '../../physics/raster/pass-time.ts';
import { burnFrame } from '../../piece/frame.ts';
import type { Piece } from '../../piece/schema.ts';
import { closeProgram, createBedMap, openProgram, zeroOnBed } from './frame.ts';
import type { MachineFile, PictureForm, ProgramPromise } from './machine-file.ts';
import {
  type BedBox,
  boxAround,
  createPowerWords,
  type FilePart,
  passProgram,
  rowTravel,
  type ScreenedRaster,
  slabBox,
  travelBox,
  withPark,
} from './pass-program.ts';
import {
  controlRefusals,
  fromRowRefusals,
  JobRefused,
  markRefusals,
  passRefusals,
  travelRefusals,
  walkRefusals,
} from './refusals.ts';

export interface OpenedFile {
  readonly parts: Generator<FilePart, void>;
  /** How long the machine works on it from the first row to the last, s; null where it does not. */
  readonly timeS: number | null;
  /** Sentences. */
  readonly cautions: readonly string[];
  /** What a program must hold when it is read back; null for what is no program. */
  readonly promise: ProgramPromise | null;
}

/**
 * Makes a file ready to be written, part by part.
 * @throws JobRefused with what is wrong and the nearest that works; Cancelled.
 */
export async function openMachineFile(
  file: MachineFile,
  piece: Piece,
  photo: Photo,
  signal?: AbortSignal,
): Promise<OpenedFile> {
  switch (file.kind) {
    case 'pass': {
      refuse([...controlRefusals(piece), ...passRefusals(piece, file.index)]);
      const whole = await screenedPass(piece, photo, file.index, signal);
      const { fromRow } = file;
      const rows = whole.raster.rows;
      const last = whole.spans.end.findLastIndex((end) => end > 0) + 1;
      if (fromRow !== undefined && last > 0) refuse(fromRowRefusals(piece, file.index, fromRow, last));
      const screened = fromRow === undefined ? whole : { ...whole, spans: spansFrom(whole.spans, fromRow - 1) };
      refuse(travelRefusals(piece, file.index, travelBox(piece, file.index, screened)));
      const pass = piece.passes[file.index];
      const { motion } = piece.machine;
      const backwardsMm = rowTravel(piece, file.index).backwardsDots * pass.rowPitchMm;
      return {
        parts: passProgram(piece, file.index, screened, fromRow ? takeUpNotes(fromRow, rows) : []),
        timeS: passTime(screened.spans, pass.rowPitchMm, pass, motion, backwardsMm).timeS,
        cautions: [
          ...(fromRow ? takeUpCautions(piece, fromRow) : []),
          ...passCautions(piece, file.index),
          ...placementWarnings(piece, photo.picture),
        ],
        promise: passPromise(piece, file.index, screened, photo.picture),
      };
    }
    case 'walk': {
      const { points, what, title } = walkPath(file.path, piece, photo);
      refuse([...controlRefusals(piece), ...walkRefusals(piece, withPark(piece, slabBox(piece, points)), what)]);
      return {
        parts: walkProgram(piece, points, title),
        timeS: null,
        cautions: placementWarnings(piece, photo.picture),
        promise: walkPromise(piece, points),
      };
    }
    case 'mark': {
      const place = markPlace(piece, photo);
      const box = boxAround(markStrokes(place).flatMap((stroke) => strokeOnBed(piece, stroke)));
      refuse([...controlRefusals(piece), ...passRefusals(piece, 0), ...markRefusals(piece, withPark(piece, box))]);
      return { parts: markProgram(piece, place), timeS: null, cautions: [], promise: markPromise(piece, place) };
    }
    case 'picture': {
      const { index, form } = file;
      const pass = piece.passes[index];
      if (form === 'dots-1' && pass.screen === 'continuous') {
        refuse([
          {
            message: 'Continuous tone has no dots: one bit cannot hold it. The nearest that works is 8 bits.',
            remedy: null,
          },
        ]);
      }
      const screened = await screenedPass(piece, photo, index, signal);
      const fillRow =
        form === 'grey-16'
          ? fillGrey(piece, photo, index, screened, file.negative)
          : fillDots(screened, form, file.negative);
      const { columns: width, rows: height, pitchMm } = screened.raster;
      const bits = form === 'grey-16' ? 16 : form === 'dots-8' ? 8 : 1;
      return {
        parts: pngStream({ width, height, bits, alpha: form !== 'dots-1', pitchMm }, fillRow),
        timeS: null,
        cautions: piece.passes[index].evenPower && form !== 'dots-8' ? [NO_EVEN_POWER] : [],
        promise: null,
      };
    }
    case 'drawing': {
      const svg = drawingToSvg(piece.name || 'Piece', [
        { id: 'slab', lines: [slabPerimeter(piece.slab)] },
        { id: 'picture', lines: [picturePerimeter(piece.slab, piece.picture, photo.picture)] },
        ...letteringOutlines(piece, photo.picture)
          .filter((lines) => lines.length > 0)
          .map((lines, i) => ({ id: `lettering-${i + 1}`, lines })),
      ]);
      return { parts: whole(svg), timeS: null, cautions: [], promise: null };
    }
  }
}

function refuse(refusals: JobRefused['refusals']): void {
  if (refusals.length > 0) throw new JobRefused(refusals);
}

/** What a picture of dots alone, or of tones, cannot carry. */
const NO_EVEN_POWER =
  'This form of picture has no room for power that follows heat and lag: burned from it, row ends and narrow parts come out more open than proofed. Take the dots in 8 bits or the program.';

async function screenedPass(piece: Piece, photo: Photo, index: number, signal?: AbortSignal): Promise<ScreenedPass> {
  const pass = piece.passes[index];
  const preparation = createPreparation(true);
  await breathe(signal);
  preparation.tone(photo, piece, pass.rowPitchMm, toneOf(piece, pass));
  await breathe(signal);
  await preparation.search(photo, piece, pass, { signal });
  const fires = (level: number) => wattsAtLevel(piece.machine.source, pass, level) > 0;
  const screened = preparation.screen(photo, piece, pass, fires);
  await breathe(signal);
  if (!pass.evenPower) return screened;
  const pitchMm = piece.passes[0].rowPitchMm;
  const whole = { ...frameDots(piece, photo.picture, pitchMm), pitchMm, ...subCells(piece) };
  return evenPower(piece, index, planPass(piece, pass, whole), whole, screened);
}

function walkPath(path: 'slab' | 'picture' | 'mark', piece: Piece, photo: Photo) {
  switch (path) {
    case 'slab':
      return { points: slabPerimeter(piece.slab), what: 'The walk round the slab', title: 'walk round the slab' };
    case 'picture':
      return {
        points: burnPerimeter(piece, photo.picture),
        what: 'The walk round the picture',
        title: 'walk round the picture',
      };
    case 'mark':
      return { points: markPath(markPlace(piece, photo)), what: 'The reference mark', title: 'walk over the mark' };
  }
}

/** @throws JobRefused where the margin is too narrow. */
function markPlace(piece: Piece, photo: Photo): Point {
  const markAt = (widthMm: number) =>
    referenceMarkPlace({ ...piece, picture: { ...piece.picture, widthMm } }, photo.picture);
  const roomAt = (widthMm: number) => markAt(widthMm)?.roomMm ?? 0;
  const mark = markAt(piece.picture.widthMm);
  if (mark && mark.roomMm >= MARK_NEEDS_MM) return mark.place;
  let low = 1;
  let high = piece.picture.widthMm;
  for (let i = 0; i < 12; i++) {
    const middle = (low + high) / 2;
    if (roomAt(middle) >= MARK_NEEDS_MM) low = middle;
    else high = middle;
  }
  const widthMm = Math.floor(10 * low) / 10;
  const works = roomAt(widthMm) >= MARK_NEEDS_MM;
  const told = `The reference mark needs ${MARK_NEEDS_MM} mm of room on all sides and the margin gives ${(mark?.roomMm ?? 0).toFixed(1)} mm`;
  throw new JobRefused([
    works
      ? {
          message: `${told}; the nearest that works is a picture ${widthMm} mm wide.`,
          remedy: { label: `Make the picture ${widthMm} mm wide`, picture: { widthMm } },
        }
      : { message: `${told}; no size of the picture at this place gives more.`, remedy: null },
  ]);
}

function fillDots({ levels, mask, raster }: ScreenedPass, form: PictureForm, negative: boolean) {
  const { columns } = raster;
  return (y: number, row: Uint8Array): void => {
    for (let x = 0, dot = y * columns; x < columns; x++, dot++) {
      const level = mask[dot] > 0 ? levels[dot] : 0;
      if (form === 'dots-1') {
        if (level >= 128 !== negative) row[x >> 3] |= 0x80 >> (x & 7);
      } else {
        row[2 * x] = negative ? 255 - level : level;
        row[2 * x + 1] = mask[dot] > 0 ? 255 : 0;
      }
    }
  };
}

function fillGrey(piece: Piece, photo: Photo, index: number, { mask, raster }: ScreenedPass, negative: boolean) {
  const pass = piece.passes[index];
  const tone = createPreparation(true).tone(photo, piece, pass.rowPitchMm, pass.tone ?? piece.picture.tone);
  const { lightness } = orientToRaster(tone, pass.rowPitchMm, raster);
  return (y: number, row: Uint8Array): void => {
    const view = new DataView(row.buffer, row.byteOffset, row.byteLength);
    for (let x = 0, dot = y * raster.columns; x < raster.columns; x++, dot++) {
      const grey = Math.round(65535 * Math.min(1, Math.max(0, encodeSrgb(lightnessToLuminance(lightness[dot])))));
      view.setUint16(4 * x, negative ? 65535 - grey : grey);
      view.setUint16(4 * x + 2, 257 * mask[dot]);
    }
  };
}

function* whole(text: string): Generator<FilePart, void> {
  yield { bytes: new TextEncoder().encode(text), share: 1 };
}

/** What to heed where a burn that broke off is taken up from a row, counted from 1; sentences. */
function takeUpCautions({ machine }: Piece, fromRow: number): string[] {
  const before =
    fromRow > 1 ? `Rows before row ${fromRow} are taken as burned: look that row ${fromRow - 1} is whole. ` : '';
  return [
    `${before}What of row ${fromRow} was burned already gets the beam twice.`,
    machine.control.zero === 'picture-centre'
      ? 'The slab must lie as it did, and the head must stand over the picture’s middle as exactly as before when the program starts.'
      : 'The slab must lie as it did. After a power cut the machine has to find its place again, which can be a few tenths of a millimetre off: run the lap round the picture, or over the reference mark, with the beam off or at pilot power first.',
    'Before you start: beam off, the jam cleared, the lens clean, the slab cold and nothing glowing.',
  ];
}

/** The same in a program's comments. */
const takeUpNotes = (fromRow: number, rows: number): readonly string[] => [
  `Taken up from row ${fromRow} of ${rows}: rows before it must be burned already.`,
  'Slab and positions as in the first run. Look that the beam is off first.',
];

/** What a pass's program does that its maker may not expect; sentences. */
function passCautions(piece: Piece, index: number): string[] {
  const pass = piece.passes[index];
  const { motion, control } = piece.machine;
  const cautions: string[] = [];
  const rampMm = fullRunUpMm(feedOf(pass, motion), motion.accelerationMmPerS2);
  if (motion.runUpMm < rampMm - 1e-9) {
    const wants = Math.ceil(10 * rampMm) / 10;
    const follows = motion.powerAtRamps === 'follows-feed';
    cautions.push(
      follows === (control.beam === 'follows-speed')
        ? `The run-up of ${motion.runUpMm} mm is shorter than the ${wants} mm that this feed takes${follows ? '' : ': the ends of rows burn deeper, as the proof shows'}.`
        : `The run-up of ${motion.runUpMm} mm is shorter than the ${wants} mm that this feed takes, and there the proof has the power ${follows ? 'follow the speed' : 'held'} but ${control.beam === 'holds-power' ? 'M3 holds it' : 'with M4 it follows the speed'}.`,
    );
  }
  if (pass.rows === 'two-way' && pass.rowOffsetErrorMm !== 0 && !control.correctRowOffset) {
    cautions.push(
      `Rows burned backwards land ${pass.rowOffsetErrorMm} mm off, as the proof shows; the program can make up for it.`,
    );
  }
  return cautions;
}

/** A pass: light in the placed picture only, rows and time as planned. */
function passPromise(
  piece: Piece,
  index: number,
  { raster, spans }: ScreenedRaster,
  photo: { width: number; height: number },
): ProgramPromise {
  const pass = piece.passes[index];
  const { motion } = piece.machine;
  const shiftMm = rowTravel(piece, index).backwardsDots * pass.rowPitchMm;
  const { across } = createBedMap(piece, raster);
  const { timeS, rows: count } = passTime(spans, pass.rowPitchMm, pass, motion, shiftMm);
  const { offsetXMm, offsetYMm } = piece.picture;
  const { widthMm, heightMm } = burnFrame(piece, photo);
  const edge = picturePerimeter(piece.slab, { ...piece.picture, crop: 'rectangle' }, photo);
  const [a, b] = [widthMm / 2, heightMm / 2];
  const frame: Point[] = [-a, a].flatMap((x) => [-b, b].map((y): Point => [offsetXMm + x, offsetYMm + y]));
  const lit = piece.picture.lettering.length > 0 ? frame : edge;
  // The raster covers whole dots.
  const beyondMm = 1.5 * pass.rowPitchMm + Math.abs(shiftMm);
  return {
    ...commonPromise(piece, feedOf(pass, motion)),
    turns: false,
    light: moved(piece, boxAround(lit.map((point) => slabToBed(piece.placement, point))), beyondMm),
    rows: {
      count,
      across: [across[0] / pass.rowPitchMm, across[1] / pass.rowPitchMm],
      pitchMm: pass.rowPitchMm,
      timeS,
      maxFeedMmPerS: motion.maxFeedMmPerS,
      accelerationMmPerS2: motion.accelerationMmPerS2,
    },
  };
}

/** A lap along a path of slab places: light on the path only, and none where the pilot beam is off. */
function walkPromise(piece: Piece, path: readonly Point[]): ProgramPromise {
  const lit = createPowerWords(piece.machine).steps(piece.placement.pilotPower) > 0;
  const box = boxAround(path.map((point) => slabToBed(piece.placement, point)));
  return {
    ...commonPromise(piece, walkFeed(piece)),
    turns: true,
    light: lit ? moved(piece, box, 0) : null,
    rows: null,
  };
}

/** The reference mark: light on its strokes only. */
function markPromise(piece: Piece, place: Point): ProgramPromise {
  const ends = markStrokes(place).flatMap((stroke) => strokeOnBed(piece, stroke).slice(1, 3));
  const feed = feedOf(piece.passes[0], piece.machine.motion);
  return { ...commonPromise(piece, feed), turns: false, light: moved(piece, boxAround(ends), 0), rows: null };
}

function commonPromise(piece: Piece, feedMmPerS: number): Omit<ProgramPromise, 'light' | 'rows' | 'turns'> {
  const { control } = piece.machine;
  const { bedWidthMm, bedHeightMm } = piece.placement;
  const power = createPowerWords(piece.machine);
  return {
    travel: moved(piece, { left: 0, right: bedWidthMm, near: 0, far: bedHeightMm }, 0),
    beam: control.beam === 'holds-power' ? 'M3' : 'M4',
    mostS: power.most / 10 ** power.decimals,
    feedMmPerS,
    stepMm: (control.units === 'inch' ? MM_PER_INCH : 1) / 10 ** control.decimals,
    fromZero: control.zero === 'picture-centre',
  };
}

/** A box on the bed in the program's own positions, with so much room round it, mm. */
function moved(piece: Piece, { left, right, near, far }: BedBox, byMm: number): BedBox {
  const [x, y] = zeroOnBed(piece);
  return { left: left - x - byMm, right: right - x + byMm, near: near - y - byMm, far: far - y + byMm };
}

/** Places on the bed that a stroke is travelled over, mm: start of the run-up, both ends, end of the run-out. */
function strokeOnBed(piece: Piece, [from, to]: readonly [Point, Point]): readonly (readonly [number, number])[] {
  const { motion } = piece.machine;
  const runUpMm = usedRunUpMm(feedOf(piece.passes[0], motion), motion);
  const a = slabToBed(piece.placement, from);
  const b = slabToBed(piece.placement, to);
  const share = runUpMm / Math.hypot(b[0] - a[0], b[1] - a[1]);
  const beyond = (at: readonly number[], sign: number): [number, number] => [
    at[0] + sign * share * (b[0] - a[0]),
    at[1] + sign * share * (b[1] - a[1]),
  ];
  return [beyond(a, -1), a, b, beyond(b, 1)];
}

/** The reference mark as a program: two strokes at the first pass's strongest power and feed. */
function* markProgram(piece: Piece, place: Point): Generator<FilePart, void> {
  const [pass] = piece.passes;
  const power = createPowerWords(piece.machine);
  const steps = power.steps(Math.max(pass.lightEndPower, pass.darkEndPower));
  const strokes = markStrokes(place).map((stroke) => strokeOnBed(piece, stroke));
  const writer = openProgram({
    piece,
    titles: [`Foreburn, reference mark: ${piece.name || 'piece'}`],
    sDecimals: power.decimals,
    feedMmPerS: feedOf(pass, piece.machine.motion),
    start: [strokes[0][0][0], strokes[0][0][1]],
    beam: true,
  });
  for (const [start, from, to, end] of strokes) {
    writer.rapid(start[0], start[1]);
    writer.travel(from[0], from[1], 0);
    writer.travel(to[0], to[1], steps);
    writer.travel(end[0], end[1], 0);
  }
  closeProgram(writer, piece);
  yield { bytes: writer.take(), share: 1 };
}

/** Slow enough to follow with the eye: 3000 mm/min. */
const WALK_FEED_MM_PER_S = 50;

/** Before a lap with light and after it the head goes so far along the path without, so that it never stands with the beam on, mm. */
const RUN_UP_MM = 2;

const walkFeed = (piece: Piece): number => Math.min(WALK_FEED_MM_PER_S, piece.machine.motion.maxFeedMmPerS);

/**
 * One lap along a closed path of slab places, with the beam off or at the placement's pilot power, as a program. Refusals as in
 * `refusals.ts`.
 */
function* walkProgram(piece: Piece, path: readonly Point[], title: string): Generator<FilePart, void> {
  const { pilotPower } = piece.placement;
  const power = createPowerWords(piece.machine);
  const steps = power.steps(pilotPower);
  const places = path.map((point) => slabToBed(piece.placement, point));
  const lap = [...places, places[0]];
  const beam = steps > 0;
  const light = beam ? `pilot beam at ${Math.round(1000 * pilotPower) / 10} percent` : 'beam off';
  const before = beam ? firstPart(lap.toReversed(), RUN_UP_MM).reverse() : [];
  const after = beam ? firstPart(lap, RUN_UP_MM) : [];
  const [start, ...runUp] = [...before, places[0]];
  const writer = openProgram({
    piece,
    titles: [`Foreburn, ${title}, ${light}: ${piece.name || 'piece'}`],
    sDecimals: power.decimals,
    feedMmPerS: walkFeed(piece),
    start: [start[0], start[1]],
    beam,
  });
  for (const [x, y] of runUp) writer.travel(x, y, 0);
  for (const [x, y] of lap.slice(1)) writer.travel(x, y, steps);
  for (const [x, y] of after) writer.travel(x, y, 0);
  closeProgram(writer, piece);
  yield { bytes: writer.take(), share: 1 };
}

/** Places along a path after its first one, until so far from it along the path, mm. */
function firstPart(path: readonly Point[], mm: number): Point[] {
  const places: Point[] = [];
  let left = mm;
  for (let i = 1; i < path.length && left > 0; i++) {
    const [ax, ay] = path[i - 1];
    const [bx, by] = path[i];
    const length = Math.hypot(bx - ax, by - ay);
    const share = length > left ? left / length : 1;
    places.push([ax + share * (bx - ax), ay + share * (by - ay)]);
    left -= length;
  }
  return places;
}

/** Half the length of the cross's arms, mm. */
const MARK_ARM_MM = 2;

/** Distance that the cross's middle must have to the picture and to the rim, mm. */
const MARK_NEEDS_MM = 3;

const DIRECTIONS = 32;

const STEP_MM = 0.5;

interface MarkPlace {
  /** In slab places, mm. */
  readonly place: Point;
  /** Distance to the picture's edge, to lettering or to the paintable area's rim, whichever is nearest, mm. */
  readonly roomMm: number;
}

/**
 * Where a small cross has most room in the margin between the picture's edge and the slab's rim, clear of lettering, looking from the
 * picture's centre in all directions. Null where picture and lettering cover all of the slab.
 */
function referenceMarkPlace(piece: Piece, photo: { width: number; height: number }): MarkPlace | null {
  const face = createFace(piece.slab);
  const edge = picturePerimeter(piece.slab, piece.picture, photo);
  const letters = letteringOutlines(piece, photo).map(roomBeside);
  const { offsetXMm, offsetYMm } = piece.picture;
  const farMm = Math.hypot(piece.slab.widthMm, piece.slab.heightMm);
  let best: MarkPlace | null = null;
  for (let i = 0; i < DIRECTIONS; i++) {
    const turn = (2 * Math.PI * i) / DIRECTIONS;
    for (let mm = 0; mm <= farMm; mm += STEP_MM) {
      const place: Point = [offsetXMm + mm * Math.cos(turn), offsetYMm + mm * Math.sin(turn)];
      const toRimMm = face.rimDistanceMm(place[0], place[1]) - piece.slab.maskedRimMm;
      if (toRimMm <= (best?.roomMm ?? 0)) continue;
      let roomMm = Math.min(toRimMm, -signedDistanceMm(edge, place));
      for (const room of letters) {
        if (roomMm <= (best?.roomMm ?? 0) + 1e-6) break;
        roomMm = Math.min(roomMm, room(place, roomMm));
      }
      if (roomMm > (best?.roomMm ?? 0) + 1e-6) best = { place, roomMm };
    }
  }
  return best;
}

/** How far a place is from what outlines enclose by winding, mm, 0 within; what is farther than `nearer` is not measured. */
function roomBeside(outlines: readonly Polygon[]): (place: Point, nearer: number) => number {
  const parts = outlines.map((outline) => ({
    outline,
    box: boundsMm(outline),
    turn: signedAreaMm2(outline) > 0 ? 1 : -1,
  }));
  return ([x, y], nearer) => {
    let [room, winding] = [nearer, 0];
    for (const { outline, box, turn } of parts) {
      const [dx, dy] = [Math.max(box.left - x, x - box.right), Math.max(box.top - y, y - box.bottom)];
      if (Math.max(dx, dy) >= room) continue;
      room = Math.min(room, Math.abs(signedDistanceMm(outline, [x, y])));
      if (isInside(outline, [x, y])) winding += turn;
    }
    return winding === 0 ? room : 0;
  };
}

/** The cross's two strokes in slab places. */
const markStrokes = ([x, y]: Point): readonly (readonly [Point, Point])[] => [
  [
    [x - MARK_ARM_MM, y],
    [x + MARK_ARM_MM, y],
  ],
  [
    [x, y + MARK_ARM_MM],
    [x, y - MARK_ARM_MM],
  ],
];

/** A closed path along both strokes, to find the mark again with the pilot beam. */
const markPath = (place: Point): readonly Point[] => {
  const [[left, right], [near, far]] = markStrokes(place);
  return [left, right, place, near, far, place];
};
