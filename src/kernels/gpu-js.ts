import type { GPU, GPUVariableType, IGPUFunctionSettings, IGPUKernelSettings, IKernelRunShortcut, Input } from 'gpu.js';
import sources from './burn.kernel.ts?kernel';
import type { BackendName, BurnBackend, BurnPassInput, Plane } from './contract.ts';

type Mode = Exclude<BackendName, 'reference'>;

/**
 * A backend run by gpu.js. The library is loaded here and nowhere else, and only when asked for.
 * @throws Error if gpu.js cannot run the mode here, or silently picks another one.
 */
export async function createGpuJsBackend(mode: Mode, reason: string): Promise<BurnBackend> {
  const library = await import('gpu.js');
  const gpu: GPU = new library.GPU({ mode });
  for (const [name, source] of Object.entries(sources)) {
    if (name !== 'burnCell') gpu.addFunction(source as never, numberSignature(source));
  }
  const kernels = new Map<string, IKernelRunShortcut>();

  /** gpu.js fixes the sizes of a kernel's inputs when it is first run, so each set of sizes has a kernel of its own. */
  function kernelFor(input: BurnPassInput): IKernelRunShortcut {
    const planes = [input.exposure, input.weights, input.thicknessUm, input.layers];
    const key = [input.width, input.height, ...planes.flatMap((plane) => [plane.width, plane.height])].join(' ');
    let kernel = kernels.get(key);
    if (!kernel) {
      kernel = gpu.createKernel(sources['burnCell'], {
        output: [input.width, input.height],
        argumentTypes: [...Array(7).fill('Input'), ...Array(13).fill('Float')],
        loopMaxIterations: 4096,
        precision: 'single',
        tactic: 'precision',
      } as unknown as IGPUKernelSettings);
      kernels.set(key, kernel);
    }
    return kernel;
  }

  return {
    name: mode,
    reason,
    async burnPass(input: BurnPassInput) {
      const { width, height, place } = input;
      const kernel = kernelFor(input);
      const asInput = (plane: Plane) =>
        new library.Input(plane.data as unknown as number[], [plane.width, plane.height]);
      const depthBefore = asInput({ width, height, data: input.depthUm });
      const excessBefore = asInput({ width, height, data: input.excess });
      const exposure = asInput(input.exposure);
      const weights = asInput(input.weights);
      const thickness = asInput(input.thicknessUm);
      const layers = asInput(input.layers);
      const run = async (wanted: number, before: Input, depthAfter: Input): Promise<Float32Array> => {
        const rows = (await kernel(
          before as never,
          depthBefore as never,
          depthAfter as never,
          exposure as never,
          weights as never,
          thickness as never,
          layers as never,
          wanted,
          input.coats,
          input.thicknessRows,
          input.subX,
          input.subY,
          input.weights.height,
          input.weights.width,
          place.rowOrigin,
          place.rowPerX,
          place.rowPerY,
          place.columnOrigin,
          place.columnPerX,
          place.columnPerY,
        )) as Float32Array[];
        const out = new Float32Array(width * height);
        for (let y = 0; y < height; y++) out.set(rows[y], y * width);
        return out;
      };
      const depthUm = await run(0, depthBefore, depthBefore);
      const ran = (kernel as unknown as { kernel: { constructor: { mode?: string } } }).kernel.constructor.mode;
      if (mode === 'cpu' && ran !== undefined && ran !== 'cpu') throw new Error(`asked gpu.js for cpu, it ran ${ran}`);
      const depthAfter = asInput({ width, height, data: depthUm });
      return { depthUm, excess: await run(1, excessBefore, depthAfter) };
    },
    dispose() {
      void gpu.destroy();
    },
  };
}

/** Helpers take and give numbers only; said outright so that gpu.js need not guess. */
function numberSignature(source: string): IGPUFunctionSettings {
  const parameters = source.slice(source.indexOf('(') + 1, source.indexOf(')'));
  const count = parameters.split(',').filter((name) => name.trim() !== '').length;
  const float: GPUVariableType = 'Float';
  return { argumentTypes: Array(count).fill(float), returnType: float };
}
