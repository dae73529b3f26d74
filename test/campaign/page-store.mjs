// Reloads, kills, tab fights and full disks at random moments; after each, what the page keeps must be whole.
// node test/campaign/page-store.mjs [--rounds 200] [--seed 1]
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { encode } from 'fast-png';
import { strFromU8, strToU8, unzipSync, zipSync } from 'fflate';
import { preview } from 'vite';
import { launchKillable } from '../helpers/killable-chromium.mjs';

const { values } = parseArgs({ options: { rounds: { type: 'string' }, seed: { type: 'string' } } });
const rounds = Number(values.rounds ?? 200);
const seed = Number(values.seed ?? 1);

/** Mulberry32: the same seed, the same campaign, as far as a browser is one. */
let state = seed >>> 0;
function random() {
  state = (state + 0x6d2b79f5) >>> 0;
  let t = Math.imul(state ^ (state >>> 15), 1 | state);
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
  return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
}
const below = (count) => Math.floor(random() * count);
const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

const server = await preview({ preview: { port: 0, host: '127.0.0.1', open: false }, logLevel: 'error' });
const url = `http://127.0.0.1:${server.httpServer.address().port}/`;
const profile = mkdtempSync(join(tmpdir(), 'foreburn-campaign-'));
const demo = tinyDemo();

/** The demo piece on a chip of wood: its proofs take no time. */
function tinyDemo() {
  const entries = unzipSync(readFileSync('public/demo/hollin-reach.foreburn'));
  const piece = JSON.parse(strFromU8(entries['piece.json']));
  Object.assign(piece.slab, { widthMm: 30, heightMm: 24, knots: [] });
  piece.picture.widthMm = 8;
  const photo = [`images/${piece.picture.file}`, photograph(0)];
  return Buffer.from(zipSync({ 'piece.json': strToU8(JSON.stringify(piece)), [photo[0]]: photo[1] }));
}

/** Noise, so that it takes room; each number its own. */
function photograph(number) {
  const data = new Uint8Array(160 * 120 * 3).map((_, i) => (i * 2654435761 * (number + 1)) >>> 24);
  return encode({ width: 160, height: 120, channels: 3, data });
}

async function launch() {
  const held = await launchKillable(process.env.FOREBURN_CHROMIUM ?? '/usr/bin/chromium', profile);
  await held.context.route('**/demo/*.foreburn', (route) => route.fulfill({ body: demo }));
  await held.context.route('**/bare', (route) => route.fulfill({ body: '', contentType: 'text/html' }));
  return held;
}

const nameOf = (page) => page.getByRole('textbox', { name: 'Name of the piece' });
async function openPage(page) {
  await page.goto(`${url}#demo`);
  // A piece that has nothing yet opens on the page where it is begun.
  const settings = page.getByRole('button', { name: 'All settings' });
  await nameOf(page).or(settings).first().waitFor();
  if (await settings.isVisible()) await settings.click();
  await nameOf(page).waitFor();
}

let names = 0;
let photographs = 0;
const ACTIONS = {
  rename: async (page) => {
    names++;
    await nameOf(page).fill(`Piece ${names}`);
  },
  photograph: async (page) => {
    photographs++;
    const step = page.getByRole('button', { name: /^Picture/ }).first();
    if ((await step.getAttribute('aria-expanded')) !== 'true') await step.click();
    const [chooser] = await Promise.all([
      page.waitForEvent('filechooser'),
      page.getByRole('button', { name: 'Open a photograph…' }).click(),
    ]);
    const buffer = Buffer.from(photograph(photographs));
    await chooser.setFiles({ name: `photo-${photographs}.png`, mimeType: 'image/png', buffer });
    const keep = page.getByRole('button', { name: 'Keep the tones' });
    const settings = page.getByRole('button', { name: 'All settings' });
    const asked = await keep
      .or(settings)
      .waitFor({ timeout: 3000 })
      .then(
        () => true,
        () => false,
      );
    if (asked) await keep.or(settings).click();
  },
  undo: (page) =>
    page
      .getByRole('button', { name: 'Undo' })
      .click({ timeout: 500 })
      .catch(() => {}),
  demo: async (page) => {
    await page.getByRole('button', { name: 'Pieces…' }).click();
    await page.getByRole('button', { name: 'Look at the demo' }).click();
  },
  pin: (page) =>
    page
      .getByRole('button', { name: 'Pin', exact: true })
      .click({ timeout: 500 })
      .catch(() => {}),
  full: (page) => setQuota(page, 1000),
  roomy: (page) => setQuota(page),
  'second tab': async (page) => {
    const second = await page.context().newPage();
    await openPage(second);
    await ACTIONS.rename(second);
    await wait(below(900));
    await ACTIONS.rename(page);
    if (random() < 0.5) await second.close();
  },
};

async function setQuota(page, quotaSize) {
  const client = await page.context().newCDPSession(page);
  await client.send('Storage.overrideQuotaForOrigin', { origin: new URL(url).origin, quotaSize });
  await client.detach();
}

/** Everything that is kept, with what is wrong with it. Bytes are checked against the hash in their names. */
const readKept = (page) =>
  page.evaluate(async () => {
    const done = (request) =>
      new Promise((resolve, reject) => {
        request.onsuccess = () => resolve(request.result);
        request.onerror = () => reject(request.error);
      });
    const database = await done(indexedDB.open('foreburn'));
    const all = (name) => done(database.transaction(name).objectStore(name).getAll());
    const [pieces, steps, images] = [await all('pieces'), await all('steps'), await all('images')];
    database.close();
    const whole = new Set();
    for (const { name, bytes } of images) {
      const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
      const hash = [...digest.subarray(0, 12)].map((byte) => byte.toString(16).padStart(2, '0')).join('');
      if (name.includes(hash)) whole.add(name);
    }
    const faults = images.filter(({ name }) => !whole.has(name)).map(({ name }) => `image ${name} is damaged`);
    for (const { id, title, piece, images: wanted, past, future } of pieces) {
      try {
        if (JSON.parse(piece).name !== title) faults.push(`${title} is not what its record says`);
      } catch {
        faults.push(`${title} is cut off`);
      }
      for (const name of wanted) if (!whole.has(name)) faults.push(`${title} lacks image ${name}`);
      for (const step of [...past, ...future]) {
        if (!steps.some((one) => one.of === id && one.step === step)) faults.push(`${title} lacks step ${step}`);
      }
    }
    return { pieces: pieces.map(({ id, title, piece }) => ({ id, title, piece })), faults };
  });

const numberOf = (title) => Number(/^Piece (\d+)/.exec(title)?.[1] ?? 0);
const newest = (pieces) => Math.max(0, ...pieces.map(({ title }) => numberOf(title)));

let held = await launch();
const counts = {};
let failed = 0;
try {
  await openPage(held.page);
  await nameOf(held.page).fill('Long saved');
  await held.page.waitForTimeout(3000);
  const { pieces } = await readKept(held.page);
  const long = pieces.find(({ title }) => title === 'Long saved');
  if (!long) throw new Error('the first piece was not kept');
  await ACTIONS.demo(held.page);
  await ACTIONS.rename(held.page);

  for (let round = 1; round <= rounds; round++) {
    const done = [];
    for (let i = 1 + below(4); i > 0; i--) {
      const action = Object.keys(ACTIONS)[below(Object.keys(ACTIONS).length)];
      done.push(action);
      await ACTIONS[action](held.page);
      await wait(below(700));
    }
    // What is on the disk at this moment must be there afterwards, or something newer.
    const before = newest((await readKept(held.page)).pieces);
    const end = ['reload', 'kill', 'close'][below(3)];
    await wait(below(300));
    if (end === 'reload') await held.page.reload();
    if (end === 'kill') {
      await held.kill();
      held = await launch();
    }
    if (end === 'close') {
      const { page } = held;
      held.page = await held.context.newPage();
      await page.close();
    }
    done.push(end);
    counts[end] = (counts[end] ?? 0) + 1;
    for (const other of held.context.pages()) if (other !== held.page) await other.close();
    await held.page.goto(`${url}bare`);
    await setQuota(held.page);
    const { pieces: after, faults } = await readKept(held.page);
    const now = after.find(({ id }) => id === long.id);
    if (now?.piece !== long.piece) faults.push('the piece saved long ago is not there any more');
    // Undo may have been written after the look.
    if (newest(after) < before && !done.includes('undo')) faults.push(`Piece ${before} was on the disk and is gone`);
    await openPage(held.page);
    const shown = await nameOf(held.page).inputValue();
    if (!after.some(({ title }) => shown.startsWith(title)) && shown !== 'Hollin Reach')
      faults.push(`the page shows “${shown}”, which nobody made`);
    if (faults.length > 0) {
      failed++;
      console.error(`round ${round} (${done.join(', ')}): ${faults.join('; ')}`);
    }
    // The piece saved long ago is not to be worked on.
    if (shown.startsWith('Long saved')) await ACTIONS.demo(held.page);
    // A full disk counts before the first write only: the browser believes for half a minute in the room that it has found.
    if (end === 'kill' && random() < 0.5) await setQuota(held.page, 1000);
    await ACTIONS.rename(held.page);
    for (const action of done) counts[action] ??= 0;
    for (const action of done.slice(0, -1)) counts[action]++;
  }
} finally {
  await held.kill();
  await server.close();
  rmSync(profile, { recursive: true, force: true, maxRetries: 5 });
}
const told = Object.entries(counts).map(([action, count]) => `${action} ${count}`);
console.log(`${rounds} rounds (seed ${seed}): ${told.join(', ')}. ${failed} with something lost or damaged.`);
process.exit(failed > 0 ? 1 : 0);
