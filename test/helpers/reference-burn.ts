import { burnCell } from '../../src/burn/kernel/burn.kernel.ts';
import type { BurnPassInput, BurnPassOutput, Plane } from '../../src/burn/kernel/contract.ts';

/** Rows of a plane as views, so that the kernel's `plane[y][x]` works on it. */
function rowsOf(plane: Plane): Float32Array[] {
  return Array.from({ length: plane.height }, (_, y) => plane.data.subarray(y * plane.width, (y + 1) * plane.width));
}

/** The kernel functions called directly, in float64 between loads and stores. Slow; what the loop that burns is compared with. */
export function burnByReference(input: BurnPassInput): BurnPassOutput {
  const { width, height } = input;
  const size = { width, height };
  const depthBefore = rowsOf({ ...size, data: input.depthUm });
  const excessBefore = rowsOf({ ...size, data: input.excess });
  const exposure = rowsOf(input.exposure);
  const weights = rowsOf(input.weights);
  const thickness = rowsOf(input.thicknessUm);
  const ground = rowsOf(input.ground);
  const layers = rowsOf(input.layers);
  const { coats, thicknessRows, subX, subY, phases, weights: profile, stride } = input;
  const { rowOrigin, rowPerX, rowPerY, columnOrigin, columnPerX, columnPerY } = input.place;
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
          coats,
          thicknessRows,
          subX,
          subY,
          phases,
          profile.width,
          rowOrigin,
          rowPerX,
          rowPerY,
          columnOrigin,
          columnPerX,
          columnPerY,
          stride,
        );
      }
    }
    return out;
  };
  const depthUm = run(0, depthBefore);
  return { depthUm, excess: run(1, rowsOf({ ...size, data: depthUm })) };
}
