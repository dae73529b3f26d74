/** A picture of lightness 0–1 and where it burns (1) or not (0), row-major. */
interface TellingPicture {
  readonly width: number;
  readonly height: number;
  readonly lightness: Float32Array;
  readonly burns: Uint8Array;
}

/** Share of the picture at either end of its tones that is left out when its middle tone is sought. */
const OUTLYING_SHARE = 0.02;
const STEPS = 64;

/**
 * Left top corner of the part of a size that tells most about tone: the picture's lightest and its darkest places are both in it,
 * neither wanting, and all of it burns if that can be. A part larger than the picture begins at its corner.
 */
export function tellingPlace(
  { width, height, lightness, burns }: TellingPicture,
  size: { readonly width: number; readonly height: number },
): { x: number; y: number } {
  const across = Math.min(width, Math.max(1, Math.round(size.width)));
  const down = Math.min(height, Math.max(1, Math.round(size.height)));
  const middle = middleTone(lightness, burns);
  const burning = sums(width, height, (i) => burns[i]);
  const darks = sums(width, height, (i) => (burns[i] ? Math.max(0, middle - lightness[i]) ** 2 : 0));
  const lights = sums(width, height, (i) => (burns[i] ? Math.max(0, lightness[i] - middle) ** 2 : 0));
  let best = { x: 0, y: 0, score: -1 };
  const strideX = Math.max(1, Math.floor((width - across) / STEPS));
  const strideY = Math.max(1, Math.floor((height - down) / STEPS));
  for (let y = 0; y + down <= height; y += strideY) {
    for (let x = 0; x + across <= width; x += strideX) {
      const inside = (table: Float64Array) => inBox(table, width, x, y, across, down) / (across * down);
      const covered = inside(burning);
      const score =
        covered * covered * (Math.min(inside(darks), inside(lights)) + 0.001 * (inside(darks) + inside(lights)));
      if (score > best.score) best = { x, y, score };
    }
  }
  return { x: best.x, y: best.y };
}

/** Half-way between the ends of the picture's tones. */
function middleTone(lightness: Float32Array, burns: Uint8Array): number {
  const values = lightness.filter((_, i) => burns[i] > 0).sort();
  const at = (share: number) => values[Math.min(values.length - 1, Math.floor(share * values.length))] ?? 0.5;
  return (at(OUTLYING_SHARE) + at(1 - OUTLYING_SHARE)) / 2;
}

/** Sums over everything left of and above a corner: `[(height + 1) · (width + 1)]`. */
function sums(width: number, height: number, at: (i: number) => number): Float64Array {
  const table = new Float64Array((width + 1) * (height + 1));
  for (let y = 0; y < height; y++) {
    let row = 0;
    for (let x = 0; x < width; x++) {
      row += at(y * width + x);
      table[(y + 1) * (width + 1) + x + 1] = table[y * (width + 1) + x + 1] + row;
    }
  }
  return table;
}

function inBox(table: Float64Array, width: number, x: number, y: number, across: number, down: number): number {
  const corner = (cx: number, cy: number) => table[cy * (width + 1) + cx];
  return corner(x + across, y + down) - corner(x, y + down) - corner(x + across, y) + corner(x, y);
}
