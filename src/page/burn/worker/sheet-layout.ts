import type { PictureSheet } from './questions.ts';

/** Where everything on a sheet lies, pixels. */
export interface SheetLayout {
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
