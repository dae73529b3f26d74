import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { browserPages } from '../helpers/browser-pages.ts';
import { FAULTS, mortal, tinyPiece } from '../helpers/worker-faults.ts';

/** Deaths at random moments: a few here, more by hand. */
const ROUNDS = Number(process.env['FOREBURN_ROUNDS'] ?? 3);
const SEED = Number(process.env['FOREBURN_SEED'] ?? 1);
const PATIENCE_MS = 120_000;
const POWERS = ['60', '70', '80'];
const WORKERS = ['proof-worker', 'swath-worker'];

let page: Page;
const tools = browserPages({
  name: 'deaths',
  meddle: (path, text) => {
    const name = WORKERS.find((one) => path.includes(`/assets/${one}-`));
    return name ? mortal(name, text()) : null;
  },
  demo: () => tinyPiece('Tiny', 45),
  view: false,
  context: { viewport: { width: 1280, height: 800 } },
  onPage: (made) => {
    page = made;
  },
});

const strip = () => page.getByRole('region', { name: 'Proofs' });
const nowCard = () => strip().getByRole('button', { name: /^Now/ });

async function setLightEnd(percent: string): Promise<void> {
  const field = page.getByRole('textbox', { name: 'Light-end power' }).first();
  await field.fill(percent);
  await field.press('Enter');
  await nowCard().getByText(`${percent} / 8 %`).waitFor();
}

/** What the card says once nothing is under way; a proof that was given up is computed by its button. */
async function outcome(): Promise<{ uncleared: string; pressed: boolean }> {
  const done = nowCard().getByText(/rows ·.* left dark/);
  const compute = strip().getByRole('button', { name: 'Compute', exact: true });
  await done.or(compute).first().waitFor({ timeout: PATIENCE_MS });
  const pressed = await compute.isVisible();
  if (pressed) await compute.click();
  await done.waitFor({ timeout: PATIENCE_MS });
  return { uncleared: /[\d.]+ % left dark/.exec((await nowCard().textContent()) ?? '')?.[0] ?? '', pressed };
}

test('whichever worker dies when, the page ends with the right proof', async () => {
  const random = createGenerator(SEED);
  await page.goto(tools.url);
  await outcome();
  const passes = page.getByRole('button', { name: /^Passes/ });
  if ((await passes.getAttribute('aria-expanded')) !== 'true') await passes.click();
  const right = new Map<string, string>();
  for (const power of POWERS) {
    await setLightEnd(power);
    right.set(power, (await outcome()).uncleared);
  }
  const told = { rounds: 0, deaths: 0, pressed: 0 };
  for (let round = 0; round < ROUNDS; round++) {
    const others = POWERS.filter((power) => power !== POWERS[round % POWERS.length]);
    await setLightEnd(others[0]);
    await setLightEnd(POWERS[round % POWERS.length]);
    const deaths = 1 + Math.floor(3 * random.nextUnit());
    for (let i = 0; i < deaths; i++) {
      await page.waitForTimeout(800 * random.nextUnit());
      const order = `${random.nextUnit() < 0.5 ? 'close' : 'throw'} ${WORKERS[Math.floor(2 * random.nextUnit())]}`;
      await page.evaluate(([channel, text]) => new BroadcastChannel(channel).postMessage(text), [FAULTS, order]);
    }
    const { uncleared, pressed } = await outcome();
    expect(uncleared, `round ${round} of seed ${SEED}`).toBe(right.get(POWERS[round % POWERS.length]));
    told.rounds++;
    told.deaths += deaths;
    if (pressed) told.pressed++;
  }
  console.log('worker deaths', JSON.stringify(told));
}, 3_600_000);
