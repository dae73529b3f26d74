import type { GPU, GPUVariableType, IGPUFunctionSettings, IKernelRunShortcut } from 'gpu.js';
import { CARD_LOST, DeviceLost, watchContext } from '../../base/card-watch.ts';
import sources from './burn.kernel.ts?kernel';
import {
  type BackendName,
  type BurnBackend,
  type BurnPassInput,
  type BurnPassOutput,
  kernelNumbers,
  type Plane,
} from './contract.ts';

type Mode = Exclude<BackendName, 'reference'>;
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
 * A backend run by gpu.js. The library is loaded here and nowhere else, and only when asked for.
 *
 * On the processor one run of the kernel gives both results; reading two of them back from a graphics card is so slow that there
 * it runs twice. What a card gives is handed on only when the card is seen to live after it; whatever goes wrong on one counts as its
 * loss, because nothing it says can be relied on then.
 * @throws Error if gpu.js cannot run the mode here, or silently picks another one.
 */
export async function createGpuJsBackend(mode: Mode, reason: string): Promise<BurnBackend> {
  const library = await import('gpu.js');
  const gpu: GPU = new library.GPU({ mode });
  const together = mode === 'cpu';
  for (const [name, source] of Object.entries(sources)) {
    if (name !== KERNEL && !(together && name === SECOND_RESULT)) {
      gpu.addFunction(source as never, numberSignature(source));
    }
  }
  const kernels = new Map<string, IKernelRunShortcut>();
  let assertLives: (() => void) | null = null;

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
      kernel = (
        together
          ? gpu.createKernelMap(
              { passed: sources[SECOND_RESULT] } as never,
              sources[KERNEL] as never,
              settings as never,
            )
          : gpu.createKernel(sources[KERNEL], settings as never)
      ) as IKernelRunShortcut;
      kernels.set(key, kernel);
    }
    return kernel;
  }

  async function burnPass(input: BurnPassInput): Promise<BurnPassOutput> {
    const { width, height } = input;
    const kernel = kernelFor(input);
    const asInput = (plane: Plane) => new library.Input(plane.data as unknown as number[], [plane.width, plane.height]);
    const cells = (data: Float32Array) => asInput({ width, height, data });
    const excessBefore = cells(input.excess);
    const depthBefore = cells(input.depthUm);
    const planes = [input.exposure, input.weights, input.thicknessUm, input.ground, input.layers].map(asInput);
    const numbers = kernelNumbers(input);
    const run = (wanted: 0 | 1, depthAfter: object): Promise<unknown> =>
      kernel(...([excessBefore, depthBefore, depthAfter, ...planes, wanted, ...numbers] as never[])) as never;
    const flat = (rows: Rows): Float32Array => {
      const out = new Float32Array(width * height);
      for (let y = 0; y < height; y++) out.set(rows[y], y * width);
      return out;
    };

    const first = await run(0, depthBefore);
    assertRan(kernel, mode);
    if (together) {
      const { result, passed } = first as MappedRows;
      return { depthUm: flat(result), excess: flat(passed) };
    }
    const depthUm = flat(first as Rows);
    const excess = flat((await run(1, cells(depthUm))) as Rows);
    assertLives ??= watchCard(kernel, mode);
    assertLives();
    return { depthUm, excess };
  }

  return {
    name: mode,
    reason,
    burnPass: together
      ? burnPass
      : (input) =>
          burnPass(input).catch((error: unknown) => {
            if (error instanceof DeviceLost) throw error;
            throw new DeviceLost(error instanceof Error ? error.message : String(error));
          }),
    dispose() {
      // A lost card cannot be tidied up.
      gpu.destroy().catch(() => {});
    },
  };
}

/** @returns what throws DeviceLost once the card that ran the kernel is gone. */
function watchCard(kernel: IKernelRunShortcut, mode: Mode): () => void {
  const { context } = kernel.kernel as unknown as { context: unknown };
  if (mode === 'webgl2') return watchContext(context as Parameters<typeof watchContext>[0]);
  return () => {
    if ((context as { isLost: boolean }).isLost) throw new DeviceLost(CARD_LOST);
  };
}

/** What gpu.js calls the kernels of each mode; WebGL 1 and 2 share a name and differ by their context. */
const OWN_NAMES: Readonly<Record<Mode, string>> = { cpu: 'cpu', webgl2: 'gpu', webgpu: 'webgpu' };

/** @throws Error if the kernel that ran is not of the mode: gpu.js falls back without a word. */
function assertRan(kernel: IKernelRunShortcut, mode: Mode): void {
  const ran = kernel.kernel as unknown as { constructor: { mode?: string }; context?: object };
  const name = ran.constructor.mode;
  const right = name === OWN_NAMES[mode] && (mode !== 'webgl2' || 'texStorage2D' in (ran.context ?? {}));
  if (!right) throw new Error(`asked gpu.js for ${mode}, it ran ${name ?? 'something else'}`);
}

/** Helpers take and give numbers only; said outright so that gpu.js need not guess. */
function numberSignature(source: string): IGPUFunctionSettings {
  const parameters = source.slice(source.indexOf('(') + 1, source.indexOf(')'));
  const count = parameters.split(',').filter((name) => name.trim() !== '').length;
  const float: GPUVariableType = 'Float';
  return { argumentTypes: Array(count).fill(float), returnType: float };
}
