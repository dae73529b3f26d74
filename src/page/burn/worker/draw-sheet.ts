import type { Asker } from '../../../base/remote/remote.ts';
import { breathe } from '../../../base/stop.ts';
import { averageColors, type ColorRows } from '../../../image/average-colors.ts';
import { type KeptProof, proofOf } from './engine.ts';
import type { PictureSheet, SheetSource } from './questions.ts';

const PAPER = '#f6f3ee';

const INK = '#2a2521';

const INK_2 = '#6a6058';

const SCALES_MM = [1, 2, 5, 10, 20, 50, 100, 200];

interface Sized extends ColorRows {
  readonly pitchMm: number;
}

/**
 * Draws pictures side by side at one scale, each with its caption. Colours are the proofs' own; dots that are finer than the sheet's
 * pixels are averaged in linear light. A bar tells the scale. @throws Error if a proof is not kept any more; Cancelled.
 */
export async function drawSheet(sheet: PictureSheet, { signal, onProgress }: Asker): Promise<Uint8Array> {
  for (const { source } of sheet.pictures) if (source.kind === 'proof') await proofOf(source.id).complete();
  const sources = sheet.pictures.map(({ source }) => sourceOf(source));
  const layout = layOutSheet(sheet, sources, textWidths());
  const { margin, gap, titlePx, headPx, linePx, lineStep } = layout;
  const canvas = new OffscreenCanvas(layout.width, layout.height);
  const context = canvas.getContext('2d', { colorSpace: 'srgb' });
  if (!context) throw new Error('the browser has no memory left for the picture');
  context.fillStyle = PAPER;
  context.fillRect(0, 0, layout.width, layout.height);
  context.textBaseline = 'top';
  const write = (text: string, x: number, y: number, px: number, strong: boolean) => {
    context.font = fontOf(px, strong);
    context.fillStyle = strong ? INK : INK_2;
    context.fillText(text, x, y);
  };
  write(sheet.title, margin, margin, titlePx, true);
  write(sheet.note, margin, margin + titlePx + lineStep / 3, linePx, false);
  for (const [i, picture] of sheet.pictures.entries()) {
    await breathe(signal);
    const { x, y, width, height } = layout.places[i];
    const pixels = averageColors(sources[i], width, height);
    context.putImageData(new ImageData(pixels, width, height), x, y);
    const under = y + layout.pictureHeight + gap / 2;
    write(picture.title, x, under, headPx, true);
    picture.lines.forEach((line, k) => {
      write(line, x, under + headPx + lineStep * (k + 0.3), linePx, false);
    });
    onProgress((i + 1) / sheet.pictures.length, 'draw');
  }
  drawScale(context, layout, write);
  const blob = await canvas.convertToBlob({ type: 'image/png' });
  return new Uint8Array(await blob.arrayBuffer());
}

const fontOf = (px: number, strong: boolean): string =>
  `${strong ? 600 : 400} ${px}px "Public Sans Variable", system-ui, sans-serif`;

function textWidths(): (text: string, px: number, strong: boolean) => number {
  const context = new OffscreenCanvas(1, 1).getContext('2d');
  if (!context) throw new Error('the browser has no memory left for the picture');
  return (text, px, strong) => {
    context.font = fontOf(px, strong);
    return context.measureText(text).width;
  };
}

/** A bar of a whole number of millimetres. */
function drawScale(
  context: OffscreenCanvasRenderingContext2D,
  { margin, linePx, width, height, perMm }: SheetLayout,
  write: (text: string, x: number, y: number, px: number, strong: boolean) => void,
): void {
  const lengthMm = SCALES_MM.findLast((mm) => mm * perMm <= 0.25 * width) ?? SCALES_MM[0];
  const length = lengthMm * perMm;
  const y = height - margin - linePx;
  context.fillStyle = INK;
  context.fillRect(margin, y + linePx / 2, length, 2);
  for (const end of [0, length - 2]) context.fillRect(margin + end, y + linePx / 2 - 5, 2, 12);
  write(`${lengthMm} mm`, margin + length + linePx, y, linePx, false);
}

function sourceOf(source: SheetSource): Sized {
  if (source.kind === 'proof') return proofRows(proofOf(source.id));
  const { width, height, pitchMm, color } = source;
  return { width, height, pitchMm, row: (y) => ({ data: color, at: 4 * y * width }) };
}

function proofRows({ width, height, pitchMm, swaths }: KeptProof): Sized {
  const blank = new Uint8Array(4 * width);
  const byRow = new Array<{ data: Uint8Array; at: number }>(height).fill({ data: blank, at: 0 });
  for (const { y0, rows, color } of swaths) {
    for (let y = 0; y < rows; y++) byRow[y0 + y] = { data: color, at: 4 * y * width };
  }
  return { width, height, pitchMm, row: (y) => byRow[y] };
}

/** Where everything on a sheet lies, pixels. */
interface SheetLayout {
  readonly width: number;
  readonly height: number;
  readonly margin: number;
  readonly gap: number;
  readonly titlePx: number;
  readonly headPx: number;
  readonly linePx: number;
  readonly lineStep: number;
  /** The one scale of all pictures. */
  readonly perMm: number;
  /** Room for the highest picture; captions begin under it. */
  readonly pictureHeight: number;
  readonly places: readonly {
    readonly x: number;
    readonly y: number;
    readonly width: number;
    readonly height: number;
  }[];
}

interface Size {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
}

/** Letters are sized for pictures of so many pixels across; larger pictures get larger ones. */
const FOR_PIXELS = 600;

const LEAST_SCALE = 0.85;

/** Lays pictures out in rows, at the scale of the finest one or less, with room for the longest caption. */
export function layOutSheet(
  { title, note, pictures, columns: wanted, mostPixels }: PictureSheet,
  sizes: readonly Size[],
  textWidth: (text: string, px: number, strong: boolean) => number,
): SheetLayout {
  const longestMm = Math.max(...sizes.map(({ width, height, pitchMm }) => pitchMm * Math.max(width, height)));
  const perMm = Math.min(1 / Math.min(...sizes.map(({ pitchMm }) => pitchMm)), mostPixels / longestMm);
  const drawn = sizes.map(({ width, height, pitchMm }) => ({
    width: Math.max(1, Math.round(width * pitchMm * perMm)),
    height: Math.max(1, Math.round(height * pitchMm * perMm)),
  }));
  const widest = Math.max(...drawn.map(({ width }) => width));
  const px = (length: number) => Math.round(length * Math.max(LEAST_SCALE, widest / FOR_PIXELS));
  const [margin, gap] = [px(40), px(26)];
  const [titlePx, headPx, linePx, lineStep] = [px(28), px(19), px(15.5), px(22)];
  const texts = pictures.flatMap((picture) => [
    textWidth(picture.title, headPx, true),
    ...picture.lines.map((line) => textWidth(line, linePx, false)),
  ]);
  const cellWidth = Math.ceil(Math.max(widest, ...texts));
  const pictureHeight = Math.max(...drawn.map(({ height }) => height));
  const captionLines = Math.max(...pictures.map(({ lines }) => lines.length));
  const cellHeight = Math.ceil(pictureHeight + gap / 2 + headPx + lineStep * (captionLines + 0.5));
  const columns = Math.min(wanted, pictures.length);
  const rows = Math.ceil(pictures.length / columns);
  const top = margin + titlePx + lineStep + gap;
  const inner = Math.max(
    columns * cellWidth + (columns - 1) * gap,
    textWidth(title, titlePx, true),
    textWidth(note, linePx, false),
  );
  return {
    width: Math.ceil(2 * margin + inner),
    height: Math.ceil(top + rows * cellHeight + rows * gap + linePx + margin),
    ...{ margin, gap, titlePx, headPx, linePx, lineStep, perMm, pictureHeight },
    places: drawn.map((size, i) => ({
      x: margin + (i % columns) * (cellWidth + gap),
      y: top + Math.floor(i / columns) * (cellHeight + gap),
      ...size,
    })),
  };
}
