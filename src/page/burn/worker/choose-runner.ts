import { createGpuJsBackend } from '../../../burn/kernel/gpu-js.ts';
import { probeBackend } from '../../../burn/kernel/probe.ts';
import { createPoolRunner } from '../../../burn/pool.ts';
import { createInlineRunner, type StripRunner } from '../../../burn/runner.ts';
import { openWorker } from '../../remote/worker-port.ts';

/** A card that was lost is tried once more. */
const MOST_LOSSES = 1;

/**
 * Picks what burns the strips: the graphics card if there is a real one, it reckons right on a small trial and was not lost again
 * and again, else a pool of workers on the processor. Says which and why.
 */
export async function chooseRunner(losses: number): Promise<StripRunner> {
  const card = losses > MOST_LOSSES ? LOST_CARD : describeCard();
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
  return createPoolRunner(stripWorker, size, `${size} workers on the processor; ${card.reason}`);
}

interface Card {
  readonly usable: boolean;
  readonly modes: readonly ('webgpu' | 'webgl2')[];
  reason: string;
}

const LOST_CARD: Card = { usable: false, modes: [], reason: 'the graphics card failed while it computed' };

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

const stripWorker = openWorker(
  () => new Worker(new URL('./strip-worker.ts', import.meta.url), { type: 'module' }),
  'burns strips',
);
