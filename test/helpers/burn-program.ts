import type { Piece } from '../../src/piece/schema.ts';
import type { Program } from './gcode-reader.ts';

/** The picture's centre on the bed, by hand: y on the slab grows towards the maker, on the bed away. */
export function centreOf({ placement, picture }: Pick<Piece, 'placement' | 'picture'>): [number, number] {
  const { xMm, yMm, turnRad } = placement;
  const [right, away] = [picture.offsetXMm, -picture.offsetYMm];
  return [
    xMm + right * Math.cos(turnRad) - away * Math.sin(turnRad),
    yMm + right * Math.sin(turnRad) + away * Math.cos(turnRad),
  ];
}

/** A pass's raster as far as a program can say it. */
export interface DotGrid {
  readonly columns: number;
  readonly rows: number;
  readonly pitchMm: number;
  readonly headingRad: number;
}

/** Burns a program into a raster of the pass: S in each dot. Complains about what is not on the raster. */
export function burnProgram(
  program: Program,
  piece: Pick<Piece, 'placement' | 'picture'>,
  raster: DotGrid,
  backwardsShiftMm: number,
): Float64Array {
  const { columns, rows, pitchMm } = raster;
  const turn = raster.headingRad + piece.placement.turnRad;
  const [cx, cy] = centreOf(piece);
  const out = new Float64Array(columns * rows);
  for (const { from, to, s, beam, rapid } of program.motions) {
    if (beam === 'off' || s === 0) continue;
    if (rapid) throw new Error('light on a rapid');
    const place = ([x, y]: readonly [number, number]) => ({
      u: ((x - cx) * Math.cos(turn) + (y - cy) * Math.sin(turn)) / pitchMm + columns / 2,
      v: ((x - cx) * Math.sin(turn) - (y - cy) * Math.cos(turn)) / pitchMm + rows / 2,
    });
    const a = place(from);
    const b = place(to);
    const shift = b.u < a.u ? backwardsShiftMm / pitchMm : 0;
    const row = Math.round(a.v - 0.5);
    const low = Math.min(a.u, b.u) - shift;
    const high = Math.max(a.u, b.u) - shift;
    const offGrid = Math.max(...[a.v - 0.5, b.v - 0.5, low, high].map((place) => Math.abs(place - Math.round(place))));
    if (offGrid > 0.2 || Math.round(b.v - 0.5) !== row) throw new Error(`${offGrid} of a dot beside the raster`);
    for (let c = Math.round(low); c < Math.round(high); c++) {
      if (out[row * columns + c] !== 0) throw new Error(`dot ${c} of row ${row} is burned twice`);
      out[row * columns + c] = s;
    }
  }
  return out;
}
