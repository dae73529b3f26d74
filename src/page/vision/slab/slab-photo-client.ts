import { createRemote } from '../../../base/remote/remote.ts';
import { openWorker } from '../../remote/worker-port.ts';
import type { SlabQuestions } from './messages.ts';

/** The dialog's worker. It keeps the photograph and the faces that it found; `stop` ends whatever it does. */
export const slabWorker = createRemote<SlabQuestions>(
  openWorker(
    () => new Worker(new URL('./slab-photo-worker.ts', import.meta.url), { type: 'module' }),
    'reads slabs in photographs',
  ),
);
