/** Connected parts of a mask (0: outside; any other value: inside), joined along sides, not corners. Row-major. */
export interface Component {
  /** Flat indices of the cells. */
  readonly cells: Int32Array;
}

/** All parts of a mask, in the order in which their first cells come. The mask is not changed. */
export function components(mask: Uint8Array, width: number, height: number): Component[] {
  const left = mask.slice();
  const stack = new Int32Array(mask.length);
  const found: Component[] = [];
  for (let start = 0; start < left.length; start++) {
    if (left[start] === 0) continue;
    left[start] = 0;
    stack[0] = start;
    let count = 1;
    // The stack is never emptied, only walked: in the end it holds the part's cells.
    for (let next = 0; next < count; next++) {
      const cell = stack[next];
      const x = cell % width;
      const visit = (other: number): void => {
        if (left[other] === 0) return;
        left[other] = 0;
        stack[count++] = other;
      };
      if (x > 0) visit(cell - 1);
      if (x < width - 1) visit(cell + 1);
      if (cell >= width) visit(cell - width);
      if (cell < width * (height - 1)) visit(cell + width);
    }
    found.push({ cells: stack.slice(0, count) });
  }
  return found;
}

/** The part with the most cells as a mask of 0 and 1 with its holes filled, and how many cells that has; null for an empty mask. */
export function largestFilled(
  mask: Uint8Array,
  width: number,
  height: number,
): { mask: Uint8Array; count: number } | null {
  let largest: Component | null = null;
  for (const part of components(mask, width, height)) {
    if (!largest || part.cells.length > largest.cells.length) largest = part;
  }
  if (!largest) return null;
  const filled = new Uint8Array(mask.length).fill(1);
  // Outside is what can be reached from the border, over corners too, for then the part cannot.
  const part = new Uint8Array(mask.length);
  for (const cell of largest.cells) part[cell] = 1;
  const stack: number[] = [];
  const reach = (cell: number): void => {
    if (part[cell] || filled[cell] === 0) return;
    filled[cell] = 0;
    stack.push(cell);
  };
  for (let x = 0; x < width; x++) {
    reach(x);
    reach((height - 1) * width + x);
  }
  for (let y = 0; y < height; y++) {
    reach(y * width);
    reach(y * width + width - 1);
  }
  for (let cell = stack.pop(); cell !== undefined; cell = stack.pop()) {
    const x = cell % width;
    const y = (cell - x) / width;
    for (let v = Math.max(0, y - 1); v <= Math.min(height - 1, y + 1); v++) {
      for (let u = Math.max(0, x - 1); u <= Math.min(width - 1, x + 1); u++) reach(v * width + u);
    }
  }
  return { mask: filled, count: filled.reduce((sum, value) => sum + value, 0) };
}
