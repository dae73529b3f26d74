import { askOnce } from '../../base/remote/remote.ts';
import { openWorker } from '../remote/worker-port.ts';
import type { ShopQuestions } from './shop-worker.ts';

const shopWorker = openWorker(
  () => new Worker(new URL('./shop-worker.ts', import.meta.url), { type: 'module' }),
  'plans the work',
);

/** Asks a worker of its own, which ends with the answer. @throws RemoteLost. */
export const askShop = <Name extends keyof ShopQuestions>(
  name: Name,
  asks: ShopQuestions[Name]['asks'],
): Promise<ShopQuestions[Name]['gets']> => askOnce<ShopQuestions, Name>(shopWorker, name, asks);
