import type { BurnPassInput, Plane } from '../../src/burn/kernel/contract.ts';

/** One cell per column of doses: what the crossings bring in turn, J/mm², with the stack and what is left of it. */
export interface CellCase {
  /** [A, Eth, q] per layer, topmost coat first, wood last. */
  readonly layers: readonly (readonly [number, number, number])[];
  /** Dry thickness of the coats, µm. */
  readonly coatsUm: readonly number[];
  readonly doses: readonly number[];
  readonly depthUm?: number;
  readonly excess?: number;
}

const plane = (width: number, height: number, data: Float32Array): Plane => ({ width, height, data });

/**
 * The kernel's input for cells that all have the same stack and number of crossings: the dose of each crossing is the exposure
 * itself (weights of one), row r of the exposure is crossing r. `pulseUm`: c of pulsed light, 0 for continuous; `thinUm`: δ of the topmost
 * coat,
 * `touched`: its g.
 */
export function cellsInput(cells: readonly CellCase[], pulseUm = 0, thinUm = 0, touched = 1): BurnPassInput {
  const [{ layers, coatsUm, doses }] = cells;
  // The kernel takes an odd number of rows around a cell; one without power makes up for an even one.
  const wood = layers[layers.length - 1];
  const taps = doses.length + (1 - (doses.length % 2));
  const width = cells.length;
  const exposure = new Float32Array(width * taps);
  const thickness = new Float32Array(width * Math.max(1, coatsUm.length));
  cells.forEach((cell, x) => {
    cell.doses.forEach((dose, r) => {
      exposure[r * width + x] = dose;
    });
    cell.coatsUm.forEach((um, i) => {
      thickness[i * width + x] = um;
    });
  });
  return {
    width,
    height: 1,
    depthUm: Float32Array.from(cells, (cell) => cell.depthUm ?? 0),
    excess: Float32Array.from(cells, (cell) => cell.excess ?? 0),
    exposure: plane(width, taps, exposure),
    weights: plane(taps, 1, new Float32Array(taps).fill(1)),
    thicknessUm: plane(width, thickness.length / width, thickness),
    ground: plane(
      width,
      4,
      Float32Array.from({ length: 4 * width }, (_, i) => [1, wood[0], 1, 0][Math.floor(i / width)]),
    ),
    layers: plane(
      6,
      layers.length,
      Float32Array.from(
        layers.flatMap((layer, i) => [
          ...layer,
          pulseUm,
          ...(i === 0 && coatsUm.length > 0 ? [thinUm, touched] : [0, 1]),
        ]),
      ),
    ),
    coats: coatsUm.length,
    thicknessRows: 1,
    subX: 1,
    subY: 1,
    stride: 0,
    phases: 1,
    place: {
      rowOrigin: (taps - 1) / 2 + 0.5,
      rowPerX: 0,
      rowPerY: 1,
      columnOrigin: 0,
      columnPerX: 1,
      columnPerY: 0,
    },
  };
}
