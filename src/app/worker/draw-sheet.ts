import { Cancelled } from '../../core/cancelled.ts';
import { averageColors, type ColorRows } from '../../core/image/average-colors.ts';
import type { Asker } from './answers/answer.ts';
import { pause, proofOf } from './desk.ts';
import type { KeptProof } from './proof-keeper.ts';
import type { PictureSheet, SheetSource } from './questions.ts';

const MARGIN = 48;
const GAP = 32;
const TITLE_PX = 30;
const HEAD_PX = 20;
const LINE_PX = 16;
const LINE_STEP = 23;
const PAPER = '#f6f3ee';
const INK = '#2a2521';
const INK_2 = '#6a6058';
const FONT = '"Public Sans Variable", system-ui, sans-serif';

interface Sized extends ColorRows {
  readonly pitchMm: number;
}

/**
 * Draws pictures side by side at one scale, each with its caption. Colours are the proofs' own; dots that are finer than the sheet's
 * pixels are averaged in linear light. A bar tells the scale. @throws Error if a proof is not kept any more; Cancelled.
 */
export async function drawSheet(sheet: PictureSheet, { shouldStop, onProgress }: Asker): Promise<Uint8Array> {
  const sources = sheet.pictures.map(({ source }) => sourceOf(source));
  const longestMm = Math.max(...sources.map(({ width, height, pitchMm }) => pitchMm * Math.max(width, height)));
  const finest = Math.min(...sources.map(({ pitchMm }) => pitchMm));
  const perMm = Math.min(1 / finest, sheet.mostPixels / longestMm);
  const sizes = sources.map(({ width, height, pitchMm }) => ({
    width: Math.max(1, Math.round(width * pitchMm * perMm)),
    height: Math.max(1, Math.round(height * pitchMm * perMm)),
  }));
  const captionLines = Math.max(...sheet.pictures.map(({ lines }) => lines.length));
  const columns = Math.min(sheet.columns, sources.length);
  const rows = Math.ceil(sources.length / columns);
  const measure = new OffscreenCanvas(1, 1).getContext('2d');
  if (!measure) throw new Error('the browser has no memory left for the picture');
  const textWidth = (text: string, font: string): number => {
    measure.font = font;
    return Math.ceil(measure.measureText(text).width);
  };
  const texts = sheet.pictures.flatMap(({ title, lines }) => [
    textWidth(title, headFont),
    ...lines.map((line) => textWidth(line, lineFont)),
  ]);
  const cellWidth = Math.max(...sizes.map(({ width }) => width), ...texts);
  const pictureHeight = Math.max(...sizes.map(({ height }) => height));
  const cellHeight = pictureHeight + HEAD_PX + 16 + captionLines * LINE_STEP;
  const head = TITLE_PX + LINE_STEP + GAP;
  const width = Math.max(
    2 * MARGIN + columns * cellWidth + (columns - 1) * GAP,
    2 * MARGIN + textWidth(sheet.title, titleFont),
    2 * MARGIN + textWidth(sheet.note, lineFont),
  );
  const height = 2 * MARGIN + head + rows * cellHeight + (rows - 1) * GAP + GAP + LINE_STEP;
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d', { colorSpace: 'srgb' });
  if (!context) throw new Error('the browser has no memory left for the picture');
  context.fillStyle = PAPER;
  context.fillRect(0, 0, width, height);
  context.textBaseline = 'top';
  const write = (text: string, x: number, y: number, font: string, color: string) => {
    context.font = font;
    context.fillStyle = color;
    context.fillText(text, x, y);
  };
  write(sheet.title, MARGIN, MARGIN, titleFont, INK);
  write(sheet.note, MARGIN, MARGIN + TITLE_PX + 8, lineFont, INK_2);
  for (const [i, picture] of sheet.pictures.entries()) {
    await pause(0);
    if (shouldStop()) throw new Cancelled();
    const x = MARGIN + (i % columns) * (cellWidth + GAP);
    const y = MARGIN + head + Math.floor(i / columns) * (cellHeight + GAP);
    const size = sizes[i];
    const pixels = averageColors(sources[i], size.width, size.height);
    context.putImageData(new ImageData(pixels, size.width, size.height), x, y);
    const under = y + pictureHeight + 12;
    write(picture.title, x, under, headFont, INK);
    picture.lines.forEach((line, k) => {
      write(line, x, under + HEAD_PX + 6 + k * LINE_STEP, lineFont, INK_2);
    });
    onProgress((i + 1) / sheet.pictures.length, 'draw');
  }
  drawScale(context, width, height, perMm, write);
  const blob = await canvas.convertToBlob({ type: 'image/png' });
  return new Uint8Array(await blob.arrayBuffer());
}

const titleFont = `600 ${TITLE_PX}px ${FONT}`;
const headFont = `600 ${HEAD_PX}px ${FONT}`;
const lineFont = `400 ${LINE_PX}px ${FONT}`;

const SCALES_MM = [1, 2, 5, 10, 20, 50, 100, 200];

/** A bar of a whole number of millimetres. */
function drawScale(
  context: OffscreenCanvasRenderingContext2D,
  width: number,
  height: number,
  perMm: number,
  write: (text: string, x: number, y: number, font: string, color: string) => void,
): void {
  const lengthMm = SCALES_MM.findLast((mm) => mm * perMm <= 0.25 * width) ?? SCALES_MM[0];
  const y = height - MARGIN - LINE_PX;
  context.fillStyle = INK;
  context.fillRect(MARGIN, y + LINE_PX / 2, lengthMm * perMm, 2);
  for (const end of [0, lengthMm * perMm - 2]) context.fillRect(MARGIN + end, y + LINE_PX / 2 - 5, 2, 12);
  write(`${lengthMm} mm`, MARGIN + lengthMm * perMm + 12, y, lineFont, INK_2);
}

function sourceOf(source: SheetSource): Sized {
  if (source.kind === 'proof') return proofRows(proofOf(source.id));
  const { width, height, pitchMm, color } = source;
  return { width, height, pitchMm, row: (y) => ({ data: color, at: 4 * y * width }) };
}

function proofRows({ width, height, pitchMm, strips }: KeptProof): Sized {
  const blank = new Uint8Array(4 * width);
  const byRow = new Array<{ data: Uint8Array; at: number }>(height).fill({ data: blank, at: 0 });
  for (const { y0, rows, color } of strips) {
    for (let y = 0; y < rows; y++) byRow[y0 + y] = { data: color, at: 4 * y * width };
  }
  return { width, height, pitchMm, row: (y) => byRow[y] };
}
