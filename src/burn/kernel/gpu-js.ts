import type { GPU, GPUVariableType, IGPUFunctionSettings, IKernelRunShortcut } from 'gpu.js';
import sources from './burn.kernel.ts?kernel';
import { type BurnBackend, type BurnPassInput, type BurnPassOutput, kernelNumbers, type Plane } from './contract.ts';

type Rows = readonly Float32Array[];
/** What a kernel with a mapped helper gives: its own result and what the helper returned. */
interface MappedRows {
  readonly result: Rows;
  readonly passed: Rows;
}

/** The kernel and the helper whose return value is the second result. */
const KERNEL = 'burnCell';
const SECOND_RESULT = 'keepExcess';

/**
 * The kernel run by gpu.js on the processor. The library is loaded here and nowhere else, and only when asked for. Cards burn whole
 * pictures their own way, with the same kernel in GLSL (`page/burn/card`).
 * @throws Error if gpu.js silently picks another mode.
 */
export async function createGpuJsBackend(reason: string): Promise<BurnBackend> {
  const library = await import('gpu.js');
  const gpu: GPU = new library.GPU({ mode: 'cpu' });
  for (const [name, source] of Object.entries(sources)) {
    if (name !== KERNEL && name !== SECOND_RESULT) gpu.addFunction(source as never, numberSignature(source));
  }
  const kernels = new Map<string, IKernelRunShortcut>();

  /** gpu.js fixes the sizes of a kernel's inputs when it is first run, so each set of sizes has a kernel of its own. */
  function kernelFor(input: BurnPassInput): IKernelRunShortcut {
    const planes = [input.exposure, input.weights, input.thicknessUm, input.ground, input.layers];
    const key = [input.width, input.height, ...planes.flatMap((plane) => [plane.width, plane.height])].join(' ');
    let kernel = kernels.get(key);
    if (!kernel) {
      const settings = {
        output: [input.width, input.height],
        argumentTypes: [...Array(8).fill('Input'), ...Array(14).fill('Float')],
        loopMaxIterations: 4096,
        precision: 'single',
        tactic: 'precision',
      } as const;
      kernel = gpu.createKernelMap(
        { passed: sources[SECOND_RESULT] } as never,
        sources[KERNEL] as never,
        settings as never,
      ) as unknown as IKernelRunShortcut;
      kernels.set(key, kernel);
    }
    return kernel;
  }

  return {
    name: 'cpu',
    reason,
    async burnPass(input: BurnPassInput): Promise<BurnPassOutput> {
      const { width, height } = input;
      const kernel = kernelFor(input);
      const asInput = (plane: Plane) =>
        new library.Input(plane.data as unknown as number[], [plane.width, plane.height]);
      const cells = (data: Float32Array) => asInput({ width, height, data });
      const excessBefore = cells(input.excess);
      const depthBefore = cells(input.depthUm);
      const planes = [input.exposure, input.weights, input.thicknessUm, input.ground, input.layers].map(asInput);
      const numbers = kernelNumbers(input);
      const flat = (rows: Rows): Float32Array => {
        const out = new Float32Array(width * height);
        for (let y = 0; y < height; y++) out.set(rows[y], y * width);
        return out;
      };
      // One run gives both results; of the depth after it the kernel makes no use then.
      const rows = kernel(...([excessBefore, depthBefore, depthBefore, ...planes, 0, ...numbers] as never[]));
      assertRan(kernel);
      const { result, passed } = rows as unknown as MappedRows;
      return { depthUm: flat(result), excess: flat(passed) };
    },
    dispose() {
      gpu.destroy().catch(() => {});
    },
  };
}

/** @throws Error if the kernel that ran is of another mode: gpu.js falls back without a word. */
function assertRan(kernel: IKernelRunShortcut): void {
  const { mode } = (kernel.kernel as unknown as { constructor: { mode?: string } }).constructor;
  if (mode !== 'cpu') throw new Error(`asked gpu.js for the processor, it ran ${mode ?? 'something else'}`);
}

/** Helpers take and give numbers only; said outright so that gpu.js need not guess. */
function numberSignature(source: string): IGPUFunctionSettings {
  const parameters = source.slice(source.indexOf('(') + 1, source.indexOf(')'));
  const count = parameters.split(',').filter((name) => name.trim() !== '').length;
  const float: GPUVariableType = 'Float';
  return { argumentTypes: Array(count).fill(float), returnType: float };
}
