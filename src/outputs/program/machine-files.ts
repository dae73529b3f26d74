import { Cancelled } from '../../base/cancelled.ts';
import { encodeSrgb } from '../../base/color/srgb.ts';
import type { Point } from '../../base/geometry/point.ts';
import { createPreparation, type Photo } from '../../burn/prepare.ts';
import { lightnessToLuminance } from '../../image/lightness.ts';
import { pngStream } from '../../image/png-stream.ts';
import { wattsAtLevel } from '../../physics/beam/source.ts';
import { picturePerimeter, placementWarnings, slabPerimeter } from '../../physics/bed/perimeter.ts';
import { orientToRaster } from '../../physics/raster/orient.ts';
import type { ScreenedPass } from '../../physics/raster/pass-raster.ts';
import { passTime } from '../../physics/raster/pass-time.ts';
import { spansFrom } from '../../physics/raster/spans.ts';
import type { Piece } from '../../piece/schema.ts';
import { drawingToSvg } from '../../render/mockup/drawing.ts';
import { passCautions, takeUpCautions, takeUpNotes } from './cautions.ts';
import type { MachineFile, PictureForm } from './machine-file.ts';
import { markProgram, strokeOnBed } from './mark-program.ts';
import { JobRefused } from './mend.ts';
import { type FilePart, passProgram, rowTravel } from './pass-program.ts';
import type { ProgramPromise } from './promise.ts';
import { markPromise, passPromise, walkPromise } from './promises.ts';
import { MARK_NEEDS_MM, markPath, markStrokes, referenceMarkPlace } from './reference-mark.ts';
import {
  controlRefusals,
  fromRowRefusals,
  markRefusals,
  passRefusals,
  travelRefusals,
  walkRefusals,
} from './refusals.ts';
import { boxAround, slabBox, travelBox, withPark } from './travel-box.ts';
import { walkProgram } from './walk-program.ts';

export interface OpenedFile {
  readonly parts: Generator<FilePart, void>;
  /** How long the machine works on it from the first row to the last, s; null where it does not. */
  readonly timeS: number | null;
  /** Sentences. */
  readonly cautions: readonly string[];
  /** What a program must hold when it is read back; null for what is no program. */
  readonly promise: ProgramPromise | null;
}

export interface OpenHooks {
  readonly shouldStop?: () => boolean;
  /** Awaited between stages, so that messages can come in. */
  readonly breathe?: () => Promise<void>;
}

/**
 * Makes a file ready to be written, part by part.
 * @throws JobRefused with what is wrong and the nearest that works; Cancelled.
 */
export async function openMachineFile(
  file: MachineFile,
  piece: Piece,
  photo: Photo,
  { shouldStop = () => false, breathe = async () => {} }: OpenHooks = {},
): Promise<OpenedFile> {
  const pause = async () => {
    await breathe();
    if (shouldStop()) throw new Cancelled();
  };
  switch (file.kind) {
    case 'pass': {
      refuse([...controlRefusals(piece), ...passRefusals(piece, file.index)]);
      const whole = await screenedPass(piece, photo, file.index, shouldStop, pause);
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
        parts: passProgram(piece, file.index, screened, shouldStop, fromRow ? takeUpNotes(fromRow, rows) : []),
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
            mend: null,
          },
        ]);
      }
      const screened = await screenedPass(piece, photo, index, shouldStop, pause);
      const fillRow =
        form === 'grey-16'
          ? fillGrey(piece, photo, index, screened, file.negative)
          : fillDots(screened, form, file.negative);
      const { columns: width, rows: height, pitchMm } = screened.raster;
      const bits = form === 'grey-16' ? 16 : form === 'dots-8' ? 8 : 1;
      return {
        parts: pngStream({ width, height, bits, alpha: form !== 'dots-1', pitchMm }, fillRow),
        timeS: null,
        cautions: [],
        promise: null,
      };
    }
    case 'drawing': {
      const svg = drawingToSvg(piece.name || 'Piece', [
        { id: 'slab', points: slabPerimeter(piece.slab) },
        { id: 'picture', points: picturePerimeter(piece.picture, photo.picture) },
      ]);
      return { parts: whole(svg), timeS: null, cautions: [], promise: null };
    }
  }
}

function refuse(refusals: JobRefused['refusals']): void {
  if (refusals.length > 0) throw new JobRefused(refusals);
}

async function screenedPass(
  piece: Piece,
  photo: Photo,
  index: number,
  shouldStop: () => boolean,
  pause: () => Promise<void>,
): Promise<ScreenedPass> {
  const pass = piece.passes[index];
  const preparation = createPreparation(shouldStop, true);
  await pause();
  preparation.tone(photo, piece, pass.rowPitchMm, pass.tone ?? piece.picture.tone);
  await pause();
  const fires = (level: number) => wattsAtLevel(piece.machine.source, pass, level) > 0;
  const screened = preparation.screen(photo, piece, pass, fires);
  await pause();
  return screened;
}

function walkPath(path: 'slab' | 'picture' | 'mark', piece: Piece, photo: Photo) {
  switch (path) {
    case 'slab':
      return { points: slabPerimeter(piece.slab), what: 'The walk round the slab', title: 'walk round the slab' };
    case 'picture':
      return {
        points: picturePerimeter(piece.picture, photo.picture),
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
          mend: { label: `Make the picture ${widthMm} mm wide`, picture: { widthMm } },
        }
      : { message: `${told}; no size of the picture at this place gives more.`, mend: null },
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
  const tone = createPreparation(undefined, true).tone(photo, piece, pass.rowPitchMm, pass.tone ?? piece.picture.tone);
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
