import { burnCell } from './burn.kernel.ts';
import { type BurnBackend, type BurnPassInput, kernelNumbers, type Plane } from './contract.ts';

/** Largest difference from the reference that float32 arithmetic explains, µm and J/mm². */
const TOLERANCE = { depthUm: 0.02, excess: 0.001 };

/** A small burn with every branch of the law in it: dark and light dots, two coats, wood, cleared and uncleared places. */
export function trialInput(width = 37, cellRows = 5): BurnPassInput {
  const subY = 3;
  const height = cellRows * subY;
  const taps = 5;
  const exposure = new Float32Array((width + 3) * (cellRows + taps));
  for (let i = 0; i < exposure.length; i++) exposure[i] = (0.14 * ((i * 7) % 11)) / 11;
  const thickness = new Float32Array(2 * cellRows * width);
  for (let i = 0; i < thickness.length; i++) thickness[i] = (i < cellRows * width ? 18 : 6) + ((i * 5) % 13);
  const cells = cellRows * width;
  const ground = new Float32Array(4 * cells);
  for (let i = 0; i < cells; i++) {
    ground[i] = 0.8 + ((i * 3) % 7) / 20;
    ground[cells + i] = 0.5 + ((i * 5) % 9) / 20;
    ground[2 * cells + i] = 0.9 + ((i * 11) % 5) / 5;
  }
  const weights = new Float32Array(subY * taps);
  for (let i = 0; i < weights.length; i++)
    weights[i] = [0.1, 2.5, 8, 2.5, 0.1][i % taps] * (1 + 0.05 * Math.floor(i / taps));
  return {
    width,
    height,
    depthUm: new Float32Array(width * height),
    excess: new Float32Array(width * height),
    exposure: { width: width + 3, height: cellRows + taps, data: exposure },
    weights: { width: taps, height: subY, data: weights },
    thicknessUm: { width, height: 2 * cellRows, data: thickness },
    ground: { width, height: 4 * cellRows, data: ground },
    layers: {
      width: 6,
      height: 3,
      data: new Float32Array([0.93, 0.11, 12, 0, 3, 1.2, 0.6, 0.09, 9, 0, 0, 1, 0.59, 0.05, 3.5, 0, 0, 1]),
    },
    coats: 2,
    thicknessRows: cellRows,
    subX: 1,
    subY,
    stride: 2,
    phases: subY,
    place: { rowOrigin: 2 + 1 / 6, rowPerX: 0, rowPerY: 1 / 3, columnOrigin: 1.25, columnPerX: 1, columnPerY: 0 },
  };
}

/** Runs the trial burn and compares it with the reference. Returns what is wrong in words, or null. */
export async function probeBackend(backend: BurnBackend): Promise<string | null> {
  const input = trialInput();
  const expected = await createReferenceBackend().burnPass(input);
  const actual = await backend.burnPass(input);
  for (const key of ['depthUm', 'excess'] as const) {
    for (let i = 0; i < expected[key].length; i++) {
      const off = Math.abs(actual[key][i] - expected[key][i]);
      if (!(off <= TOLERANCE[key])) return `${key} is off by ${off.toPrecision(2)} at cell ${i}`;
    }
  }
  return null;
}

/** Rows of a plane as views, so that the kernel's `plane[y][x]` works on it. */
function rowsOf(plane: Plane): Float32Array[] {
  return Array.from({ length: plane.height }, (_, y) => plane.data.subarray(y * plane.width, (y + 1) * plane.width));
}

/** The kernel functions called directly, in float64 between loads and stores. Slow; what the others are compared with. */
export function createReferenceBackend(): BurnBackend {
  return {
    name: 'reference',
    reason: 'plain functions, for comparison',
    async burnPass(input: BurnPassInput) {
      const { width, height } = input;
      const size = { width, height };
      const depthBefore = rowsOf({ ...size, data: input.depthUm });
      const excessBefore = rowsOf({ ...size, data: input.excess });
      const exposure = rowsOf(input.exposure);
      const weights = rowsOf(input.weights);
      const thickness = rowsOf(input.thicknessUm);
      const ground = rowsOf(input.ground);
      const layers = rowsOf(input.layers);
      const numbers = kernelNumbers(input);
      const run = (wanted: number, depthAfter: Float32Array[]): Float32Array => {
        const out = new Float32Array(width * height);
        for (let y = 0; y < height; y++) {
          for (let x = 0; x < width; x++) {
            out[y * width + x] = burnCell.call(
              { thread: { x, y, z: 0 } },
              excessBefore,
              depthBefore,
              depthAfter,
              exposure,
              weights,
              thickness,
              ground,
              layers,
              wanted,
              ...numbers,
            );
          }
        }
        return out;
      };
      const depthUm = run(0, depthBefore);
      return { depthUm, excess: run(1, rowsOf({ ...size, data: depthUm })) };
    },
    dispose() {},
  };
}
