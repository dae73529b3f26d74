import { createRemote } from '../../../base/remote/remote.ts';
import { openWorker } from '../../remote/worker-port.ts';
import { setBurn } from './burn-store.ts';
import type { MockupQuestions } from './messages.ts';
import { setMockup } from './mockup-store.ts';

/** Draws mock-ups and keeps the faces it has drawn. If it is lost they are, too: both sheets offer to draw them again. */
export const mockupWorker = createRemote<MockupQuestions>(
  openWorker(() => new Worker(new URL('./mockup-worker.ts', import.meta.url), { type: 'module' }), 'draws mock-ups'),
  () => {
    setMockup({ shown: null, band: null });
    setBurn({ burn: null, playing: false });
  },
);
