/** A rectangle on a photograph, in shares of its width and height. */
export interface PatchBox {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

const LEAST = 0.01;

/** Kept on the photograph, and large enough to be seen. */
export function heldBox({ x, y, width, height }: PatchBox): PatchBox {
  const w = Math.min(1, Math.max(LEAST, width));
  const h = Math.min(1, Math.max(LEAST, height));
  return { width: w, height: h, x: Math.min(1 - w, Math.max(0, x)), y: Math.min(1 - h, Math.max(0, y)) };
}

const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

/** What an arrow key makes of a rectangle: it moves by a hundredth, or with `resize` its far corner does. Null for other keys. */
export function boxByKey(box: PatchBox, key: string, resize: boolean): PatchBox | null {
  const arrow = ARROWS[key];
  if (!arrow) return null;
  const [dx, dy] = [arrow[0] * LEAST, arrow[1] * LEAST];
  if (!resize) return heldBox({ ...box, x: box.x + dx, y: box.y + dy });
  return heldBox({
    ...box,
    // The near corner stays where it is.
    width: Math.min(1 - box.x, box.width + dx),
    height: Math.min(1 - box.y, box.height + dy),
  });
}

/** Pixels that a rectangle covers on a canvas: at least one. */
export function boxPixels(box: PatchBox, width: number, height: number): readonly [number, number, number, number] {
  const left = Math.min(width - 1, Math.floor(box.x * width));
  const top = Math.min(height - 1, Math.floor(box.y * height));
  return [
    left,
    top,
    Math.max(1, Math.min(width - left, Math.round(box.width * width))),
    Math.max(1, Math.min(height - top, Math.round(box.height * height))),
  ];
}
