import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { expect, test } from 'vitest';

const ASSETS = 'dist/page/assets';

/** What each part of the page may weigh, kB after gzip. A part that grows past it needs a reason, or a lazy import. */
const BUDGET_KB: readonly [RegExp, number][] = [
  // What the page begins with, in two parts: what else shares the piece with its schema and colours is loaded later.
  [/^index-.*\.js$/, 215],
  // The bundler names it after one of the files in it.
  [/^(piece-store|save-file|task)-.*\.js$/, 115],
  // What draws the slab is the page's own.
  [/^Stage-.*\.js$/, 40],
  // Asks everything of the engine: proofs, findings, settings, rescue, files. Half of it is the piece's schema and colour science;
  // what reads programs back, a deflate that every reader takes (pako), the judge and the colour profiles added a sixth. Dots that go by the
  // burn take 6 kB wherever passes are made ready: here and in what packs burn jobs. Heat is worked out by parts. Screens bring the names by which they go along.
  // Cuts, healing, mattes and the outlines of letters take 6 kB, likewise here and there.
  // Beds of several slabs bring programs joined with stops between them, and what reads those back.
  [/^proof-worker-.*\.js$/, 208],
  // The first packs burn jobs, with the same two. These three are fetched only when a card is read or fitted, a mock-up is made, or a PDF is asked for.
  // The schema brings the labels and steps of its numbers along.
  // A card's job brings its lap, its drawing and what to do along. Even power asks how thick the film lies, wherever passes are made ready.
  [/^calibrate-worker-.*\.js$/, 152],
  [/^mockup-worker-.*\.js$/, 75],
  [/^pdf-worker-.*\.js$/, 360],
  // What finds a slab in a photograph takes the piece's schema along, and that has orders now.
  [/^slab-photo-worker-.*\.js$/, 63],
  [/^swath-worker-.*\.js$/, 40],
  // Looking for a bank card in a slab's photograph takes 4 kB.
  [/^slab-photo-worker-.*\.js$/, 63],
  // The type of papers and of the client's page, fetched when one of them is saved.
  [/^letters-.*\.js$/, 120],
  // Lettering, fetched when its controls are unfolded: a reader of fonts. Then a part of a font at a time.
  [/^LetteringControls-.*\.js$/, 72],
  [/^eb-garamond-latin-ext-.*\.js$/, 88],
  [/\.css$/, 20],
];

test('the parts of the page keep to their sizes', () => {
  expect(existsSync(ASSETS), 'run "npm run build" first').toBe(true);
  const files = readdirSync(ASSETS).filter((name) => /\.(js|css)$/.test(name));
  for (const name of files) {
    const budget = BUDGET_KB.find(([pattern]) => pattern.test(name))?.[1] ?? 60;
    const kb = gzipSync(readFileSync(join(ASSETS, name))).length / 1000;
    expect(kb, `${name} weighs ${kb.toFixed(0)} kB`).toBeLessThan(budget);
  }
});
