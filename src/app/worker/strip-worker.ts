import { createGpuJsBackend } from '../../kernels/gpu-js.ts';
import { createStripServer, type ToWorker } from '../../sim/pool.ts';
import { workerScope } from './scope.ts';

const serve = createStripServer(
  () => createGpuJsBackend('cpu', 'in a worker'),
  (message, transfer) => workerScope.postMessage(message, transfer as Transferable[]),
);
workerScope.onmessage = (event: MessageEvent<ToWorker>) => void serve(event.data);
