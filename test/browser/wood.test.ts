import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { createPiece, DEFAULT_TOP_COAT, woodOf } from '../../src/piece/defaults.ts';
import { decodePieceFile, encodePieceFile } from '../../src/piece/file.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { browserPages } from '../helpers/browser-pages.ts';
import { goBack } from '../helpers/kept-page.ts';

let page: Page;
const tools = browserPages({
  name: 'wood',
  view: false,
  context: { viewport: { width: 1280, height: 800 }, acceptDownloads: true },
  onPage: (made) => {
    page = made;
  },
});
const { faults } = tools;

const strip = () => page.getByRole('region', { name: 'Proofs' });
const nowCard = () => strip().getByRole('button', { name: /^Now/ });
const step = (name: string) => page.getByRole('button', { name: new RegExp(`^${name}`) });
const field = (name: string, nth = 0) => page.getByRole('textbox', { name }).nth(nth);
const pick = (name: string) => page.getByRole('radio', { name, exact: true }).click();
/** Back from all pages of the step that is open. */
async function toFront(): Promise<void> {
  while ((await page.locator('.more-page').count()) > 0) await goBack(page);
}
/** Changes that follow within a moment are undone together; this lets the moment pass. */
const momentLater = () => page.waitForTimeout(700);

async function open(name: string): Promise<void> {
  await toFront();
  if ((await step(name).getAttribute('aria-expanded')) !== 'true') await step(name).click();
}

async function unfold(name: string): Promise<void> {
  await toFront();
  await page.getByRole('button', { name: new RegExp(`^${name}`) }).click();
}

async function type(name: string, text: string, nth = 0): Promise<void> {
  await field(name, nth).fill(text);
  await field(name, nth).press('Enter');
}

/** Opens a small piece, so that proofs take a moment only. */
async function openPiece(edit: (piece: Piece) => Piece = (piece) => piece): Promise<void> {
  const photo = await sharp({ create: { width: 120, height: 90, channels: 3, background: '#f0f0f0' } })
    .jpeg()
    .toBuffer();
  const whole = createPiece('Grown', 'grown.jpg');
  const piece = edit({ ...whole, picture: { ...whole.picture, widthMm: 30 } });
  tools.openOn(encodePieceFile({ piece, images: new Map([['grown.jpg', new Uint8Array(photo)]]) }));
  await page.goto(tools.url);
  await page.getByRole('textbox', { name: 'Name of the piece' }).and(page.locator('[value="Grown"]')).waitFor();
}

const ownProofDone = () =>
  nowCard()
    .getByText(/· 2\d\d rows ·/)
    .waitFor({ timeout: 90_000 });

async function download(button: string): Promise<Buffer> {
  const save = page.getByRole('button', { name: button, exact: true });
  if (!(await save.isVisible())) await open('Hand over');
  const [file] = await Promise.all([page.waitForEvent('download'), save.click()]);
  return readFileSync(await file.path());
}
const savedPiece = async () => decodePieceFile(new Uint8Array(await download('Save the piece'))).piece;

describe('the wood', () => {
  test('species, face and knots: set, undone, and there again after a reload', async () => {
    await openPiece((piece) => ({
      ...piece,
      machine: { ...piece.machine, source: { ...piece.machine.source, wavelengthNm: 10600 } },
    }));
    await open('Slab');
    await page.getByRole('button', { name: /Species/ }).click();
    await page.getByRole('option', { name: /^Pine/ }).click();
    await momentLater();
    await unfold('Knots');
    await page.getByRole('button', { name: 'Add a knot' }).click();
    await momentLater();
    expect(await field('Diameter').inputValue()).toBe('24');
    await type('To the right', '-5');
    await momentLater();
    await page.getByRole('button', { name: 'Add a knot' }).click();
    await momentLater();
    await page.getByRole('button', { name: 'Remove knot 2' }).click();
    // Whoever uses the keys is not left nowhere.
    expect(await page.evaluate(() => document.activeElement?.textContent)).toBe('Add a knot');
    await momentLater();
    await toFront();
    await pick('As sawn');
    await momentLater();

    let { slab } = await savedPiece();
    // All of the wood, as it takes up light of this source.
    expect(slab.wood).toEqual({ ...woodOf('pine'), absorptance: 0.9 });
    expect(slab.knots).toEqual([expect.objectContaining({ xMm: -5, diameterMm: 24, filled: true })]);
    expect(slab.finish).toBe('as-sawn');
    await ownProofDone();
    await page.getByRole('button', { name: 'Pictures and numbers' }).click();
    const report = JSON.parse((await download('Save the numbers')).toString('utf8'));
    expect(report.settings.slab).toEqual(slab);

    for (let i = 0; i < 2; i++) await page.getByRole('button', { name: 'Undo' }).click();
    slab = (await savedPiece()).slab;
    expect([slab.finish, slab.knots.length, slab.wood.name]).toEqual(['sanded', 2, 'Pine']);
    for (let i = 0; i < 4; i++) await page.getByRole('button', { name: 'Undo' }).click();
    slab = (await savedPiece()).slab;
    expect([slab.knots.length, slab.wood.name]).toEqual([0, 'Lime']);
    for (let i = 0; i < 6; i++) await page.getByRole('button', { name: 'Redo' }).click();

    await page.reload();
    await ownProofDone();
    await open('Slab');
    await page
      .getByRole('button', { name: /Species/ })
      .getByText('Pine')
      .waitFor();
    expect(await page.getByRole('radio', { name: 'As sawn' }).getAttribute('aria-checked')).toBe('true');
    await unfold('Knots');
    await page.getByRole('button', { name: /^Knot 1/ }).click();
    expect(await field('To the right').inputValue()).toBe('-5');
    expect(faults).toEqual([]);
  });

  test('own values: the name is left, the numbers stay until a species is chosen', async () => {
    await openPiece();
    await open('Slab');
    await page.getByRole('button', { name: /Species/ }).click();
    await page.getByRole('option', { name: /^Own values/ }).click();
    await unfold('Grain and rings');
    await type('Ring contrast', '3');
    await page.getByRole('button', { name: 'Another likely grain' }).click();
    const { slab } = await savedPiece();
    expect(slab.wood).toEqual({ ...woodOf('lime'), name: 'Lime, own values', ringContrast: 3 });
    expect(slab.grainSeed).toBe(2);
    await open('Slab');
    await page
      .getByRole('button', { name: /Species/ })
      .getByText('Own values')
      .waitFor();
    await page.getByRole('button', { name: /Species/ }).click();
    await page.getByRole('option', { name: /^Lime/ }).click();
    expect((await savedPiece()).slab.wood).toEqual(woodOf('lime'));
  });

  test('checks, warp and rim keep to what was typed, in inches too', async () => {
    await openPiece();
    await open('Slab');
    await pick('inches');
    await unfold('Drying checks');
    await page.getByRole('button', { name: 'Add a check' }).click();
    await type('Length', '2');
    await type('Heading', '30');
    await page.getByText('Filled', { exact: true }).click();
    await unfold('Warp');
    await type('Dome', '-0.05');
    await unfold('Edge, thickness');
    await type('Taped rim', '0.5');
    await pick('Sawn');
    const { slab } = await savedPiece();
    expect(slab.checks).toHaveLength(1);
    expect(slab.checks[0].lengthMm).toBeCloseTo(50.8, 9);
    expect(slab.checks[0].headingRad).toBeCloseTo((150 * Math.PI) / 180, 9);
    expect(slab.checks[0].filled).toBe(true);
    expect(slab.domeMm).toBeCloseTo(-1.27, 9);
    expect(slab.maskedRimMm).toBeCloseTo(12.7, 9);
    expect(slab.edge).toBe('sawn');
  });
});

describe('coats over this wood', () => {
  test('thick layers are warned of, and a knot is spoken of once there is one', async () => {
    await openPiece();
    await open('Coats');
    const undercoat = page.getByRole('region', { name: 'Undercoat' });
    await undercoat.getByText(/The rings of the lime .* will not show/).waitFor();
    expect(await page.getByText(/knot/).count()).toBe(0);
    expect(await page.locator('.warning').count()).toBe(0);
    await type('Dry thickness', '160', 1);
    await undercoat.getByText(/Each application is 40 µm; its maker calls 8 to 25 µm usual\. Thick/).waitFor();
    await type('Dry thickness', '20', 1);
    await undercoat.getByText(/Each application is 5 µm; .* fewer, fuller ones/).waitFor();
    await open('Slab');
    await unfold('Knots');
    await page.getByRole('button', { name: 'Add a knot' }).click();
    await open('Coats');
    await undercoat.getByText(/The knot will show through \(ΔE [3-5]\.\d\)/).waitFor();
  });
});

describe('machine, heat and certainty', () => {
  test('pulses, air, heat between rows and spreads go into the piece', async () => {
    await openPiece();
    await open('Passes');
    await unfold('Heat between rows');
    await type('Heat that stays', '45');
    await unfold('The machine');
    await pick('Pulsed');
    await page.getByText(/now hold for one pulse/).waitFor();
    await type('Pulse rate', '50');
    // 10 W shared out among 50,000 pulses.
    await page.getByText(/carries 0\.20 mJ/).waitFor();
    await type('Air assist', '40');
    await open('Proof');
    await unfold('How sure the numbers are');
    await type('Film thickness', '25');
    const piece = await savedPiece();
    expect(piece.heat).toEqual({ carryOver: true, retainedShare: 0.45 });
    expect(piece.machine.source.pulses).toMatchObject({ rateHz: 50000 });
    // A pulse has a small part of a crossing's dose.
    expect(piece.stack.coats[0].thresholdJPerMm2).toBeLessThan(0.1 * DEFAULT_TOP_COAT.thresholdJPerMm2);
    expect(piece.machine.airFlow).toBe(0.4);
    expect(piece.certainty).toMatchObject({ source: 'preset', thickness: 0.25 });
  });

  test('what nobody has measured says so wherever it is predicted; what is calibrated does not', async () => {
    await openPiece();
    await open('Hand over');
    await ownProofDone();
    expect(await nowCard().getByText('uncalibrated').count()).toBe(1);
    expect(await step('Proof').getByText('uncalibrated').count()).toBe(1);
    await page.getByText(/What follows is predicted, uncalibrated/).waitFor();
    await openPiece((piece) => ({ ...piece, certainty: { ...piece.certainty, source: 'calibrated' } }));
    await open('Hand over');
    await ownProofDone();
    expect(await page.getByText(/uncalibrated/i).count()).toBe(0);
  });
});
