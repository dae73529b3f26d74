import { useEffect, useState } from 'react';
import { createRemote, type Remote } from '../../../base/remote/remote.ts';
import { openWorker } from '../../remote/worker-port.ts';
import type { MaskQuestions } from './messages.ts';

export type MaskClient = Remote<MaskQuestions>;

const maskWorker = openWorker(
  () => new Worker(new URL('./mask-worker.ts', import.meta.url), { type: 'module' }),
  'works on masks',
);

/** The dialog's worker, while it is open. */
export function useMaskClient(): MaskClient | null {
  const [client, setClient] = useState<MaskClient | null>(null);
  useEffect(() => {
    const started = createRemote<MaskQuestions>(maskWorker);
    setClient(started);
    return () => started.close();
  }, []);
  return client;
}
