import { CardDevice } from './card-device.ts';
import type { CardRunner } from './card-runner.ts';
import { CardSession } from './card-session.ts';

/** A card that goes so often is not asked for again. */
const MOST_CARDS = 3;

/** Offers the machine's graphics card to the runner, and the one that comes after it was lost. */
export async function offerCard(runner: CardRunner): Promise<void> {
  for (let i = 0; i < MOST_CARDS; i++) {
    const device = await CardDevice.open();
    if (!device) return;
    runner.offer(new CardSession(device));
    await device.lost;
    runner.offer(null);
  }
}
