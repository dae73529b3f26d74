import { createGpuJsBackend } from '../../kernels/gpu-js.ts';
import { probeBackend } from '../../kernels/probe.ts';
import { createPoolRunner, type FromWorker, type WorkerPort } from '../../sim/pool.ts';
import { createInlineRunner, type StripRunner } from '../../sim/runner.ts';

/**
 * Picks what burns the strips: the graphics card if there is a real one and it reckons right on a small trial, else a pool of
 * workers on the processor. Says which and why.
 */
export async function chooseRunner(): Promise<StripRunner> {
  const card = describeCard();
  if (card.usable) {
    for (const mode of card.modes) {
      try {
        const backend = await createGpuJsBackend(mode, card.reason);
        const fault = await probeBackend(backend);
        if (!fault) return createInlineRunner(backend);
        card.reason = `${mode} failed its trial: ${fault}`;
        backend.dispose();
      } catch (error) {
        card.reason = `${mode} is not to be had: ${error instanceof Error ? error.message : String(error)}`;
      }
    }
  }
  const size = Math.max(1, Math.min(8, navigator.hardwareConcurrency || 2));
  return createPoolRunner(spawnWorker, size, `${size} workers on the processor; ${card.reason}`);
}

interface Card {
  readonly usable: boolean;
  readonly modes: readonly ('webgpu' | 'webgl2')[];
  reason: string;
}

function describeCard(): Card {
  const gl = new OffscreenCanvas(1, 1).getContext('webgl2');
  if (!gl) return { usable: false, modes: [], reason: 'no WebGL 2 here' };
  const info = gl.getExtension('WEBGL_debug_renderer_info');
  const name = String(info ? gl.getParameter(info.UNMASKED_RENDERER_WEBGL) : gl.getParameter(gl.RENDERER));
  gl.getExtension('WEBGL_lose_context')?.loseContext();
  if (/swiftshader|llvmpipe|software|basic render/i.test(name)) {
    return { usable: false, modes: [], reason: 'graphics are drawn in software here' };
  }
  const modes = 'gpu' in navigator ? (['webgpu', 'webgl2'] as const) : (['webgl2'] as const);
  return { usable: true, modes, reason: name };
}

function spawnWorker(): WorkerPort {
  const worker = new Worker(new URL('./strip-worker.ts', import.meta.url), { type: 'module' });
  return {
    post: (message, transfer) => worker.postMessage(message, transfer as Transferable[]),
    listen(onMessage, onFailure) {
      worker.onmessage = (event: MessageEvent<FromWorker>) => onMessage(event.data);
      worker.onerror = (event) => onFailure(new Error(event.message || 'a worker stopped'));
    },
    terminate: () => worker.terminate(),
  };
}
