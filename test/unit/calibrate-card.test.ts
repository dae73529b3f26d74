import { beforeAll, describe, expect, test } from 'vitest';
import { type Lab, linearRgbToLab } from '../../src/base/color/lab.ts';
import { srgbDecodingTable } from '../../src/base/color/srgb.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { checkPiece } from '../../src/piece/file.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { unpackTiles } from '../../src/piece/tiles.ts';
import { createCardOracle } from '../../src/studies/calibrate/predict-card.ts';
import {
  CARD_KINDS,
  type Card,
  CardError,
  type CardKind,
  codeBits,
  markCentres,
  parseCard,
  powerOf,
  readCode,
} from '../../src/vision/card/card.ts';
import { cardPiece } from '../../src/vision/card/card-piece.ts';
import { CARD_WISH, makeCard } from '../../src/vision/card/make-card.ts';
import { cardPicture } from '../../src/vision/card/picture.ts';
import { type BurnedFields, burn, flatFilm } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

const piece = createPiece('test', 'test.png');
const even = flatFilm({ ...piece, heat: { ...piece.heat, carryOver: false } });

describe.each(CARD_KINDS)('%s card', (kind) => {
  const card = makeCard(kind, piece);

  test('lies inside its edges, off its marks, and nothing lies on anything else', () => {
    const boxes = [...card.patches.map(({ box }) => box), ...card.lines.map(({ box }) => box), card.reference];
    if (card.vernier) boxes.push(card.vernier.box);
    for (const [i, a] of boxes.entries()) {
      expect(a.xMm).toBeGreaterThanOrEqual(2);
      expect(a.xMm + a.widthMm).toBeLessThanOrEqual(card.widthMm - 2);
      expect(a.yMm + a.heightMm).toBeLessThanOrEqual(card.heightMm - 2);
      for (const [x, y] of markCentres(card)) {
        const apart = Math.max(a.xMm - x, x - a.xMm - a.widthMm, a.yMm - y, y - a.yMm - a.heightMm);
        expect(apart).toBeGreaterThanOrEqual(3);
      }
      // Lines of the crossed block may end where others pass, patches may not touch.
      for (const b of boxes.slice(i + 1)) {
        const gap = Math.max(
          a.xMm - b.xMm - b.widthMm,
          b.xMm - a.xMm - a.widthMm,
          a.yMm - b.yMm - b.heightMm,
          b.yMm - a.yMm - a.heightMm,
        );
        expect(gap).toBeGreaterThan(0);
      }
    }
  });

  test('is a piece of at most twelve passes that a piece file can hold, and survives being saved', () => {
    const job = cardPiece(card, piece);
    expect(job.passes.length).toBeLessThanOrEqual(12);
    expect(checkPiece(JSON.parse(JSON.stringify(job)))).toEqual(job);
    expect(parseCard(JSON.stringify(card))).toEqual(card);
  });

  test('its code is read back, and is another when a setting changes', () => {
    expect(readCode(codeBits(card.kind, card.id))).toEqual({ kind: card.kind, id: card.id });
    const other = makeCard(kind, { ...piece, passes: [{ ...piece.passes[0], feedMmPerS: 90 }] });
    expect(other.id).not.toBe(card.id);
  });
});

test.each(CARD_KINDS)(
  '%s: every dot of marks, code and labels is burned, and lies wholly in the marking pass',
  (kind) => {
    const card = makeCard(kind, piece);
    const picture = cardPicture(card);
    const { only } = cardPiece(card, piece).passes[0];
    const tiles = unpackTiles(only!);
    const { columns } = only!;
    const boxes = [...card.patches, ...card.lines, ...(card.vernier ? [card.vernier] : [])].map(({ box }) => box);
    const inBox = (xMm: number, yMm: number) =>
      boxes.some(
        (box) =>
          xMm > box.xMm - 0.2 &&
          xMm < box.xMm + box.widthMm + 0.2 &&
          yMm > box.yMm - 0.2 &&
          yMm < box.yMm + box.heightMm + 0.2,
      );
    let light = 0;
    const masked: string[] = [];
    for (let y = 0; y < picture.height; y++) {
      for (let x = 0; x < picture.width; x++) {
        if (picture.luminance[y * picture.width + x] < 0.99) continue;
        const [xMm, yMm] = [(x + 0.5) * card.pitchMm, (y + 0.5) * card.pitchMm];
        if (inBox(xMm, yMm)) continue;
        light++;
        if (tiles[Math.floor(yMm) * columns + Math.floor(xMm)] === 0)
          masked.push(`${xMm.toFixed(2)}, ${yMm.toFixed(2)}`);
      }
    }
    expect(light).toBeGreaterThan(1000);
    expect(masked).toEqual([]);
  },
);

test('one wrong square of the code is noticed', () => {
  const bits = codeBits('swatch', 4711);
  for (let i = 0; i < bits.length; i++) expect(readCode(bits.map((bit, k) => (k === i ? !bit : bit)))).toBeNull();
});

test('patches are shuffled and repeated', () => {
  const card = makeCard('step-wedge', piece);
  const powers = card.patches.map(({ burns }) => powerOf(burns[0]));
  const inOrder = [...card.patches]
    .sort((a, b) => a.box.yMm - b.box.yMm || a.box.xMm - b.box.xMm)
    .map(({ burns }) => powerOf(burns[0]));
  expect(new Set(powers).size).toBe(16);
  expect(powers.length).toBeGreaterThan(24);
  // Correlation of place and power: none to speak of.
  const n = inOrder.length;
  const mean = powers.reduce((sum, power) => sum + power, 0) / n;
  const spread = powers.reduce((sum, power) => sum + (power - mean) ** 2, 0);
  const middle = (n - 1) / 2;
  const along = inOrder.reduce((sum, power, i) => sum + (power - mean) * (i - middle), 0);
  const places = inOrder.reduce((sum, _, i) => sum + (i - middle) ** 2, 0);
  expect(Math.abs(along / Math.sqrt(spread * places))).toBeLessThan(0.4);
});

test('what does not fit or is no card is told', () => {
  expect(() => makeCard('step-wedge', piece, { ...CARD_WISH, widthMm: 40 })).toThrow(CardError);
  expect(makeCard('step-wedge', piece, { ...CARD_WISH, steps: 60 }).patches).toHaveLength(40);
  expect(() => makeCard('tones', piece, { ...CARD_WISH, heightMm: 36 })).toThrow(/17 patches do not fit/);
  expect(() => makeCard('swatch', { ...piece, stack: { ...piece.stack, coats: [] } })).toThrow(/no(ne)?/);
  expect(() => parseCard('{"format":"foreburn"}')).toThrow(/not a card/);
  expect(() => parseCard('{"format":"foreburn-card","version":2}')).toThrow(/newer/);
  expect(() => parseCard('{"format":"foreburn-card","version":1,"kind":"swatch"}')).toThrow(
    /^the card is damaged: id: must be a whole number from 0 to 65535, got nothing; widthMm: .* got nothing; .*and \d+ more$/,
  );
  expect(() => parseCard('{')).toThrow(/damaged/);
});

/** The quick look at patches and lines against the proof of the card as a whole. */
describe('what a card will come out as, against its proof', () => {
  let runner: SwathRunner;
  beforeAll(async () => {
    runner = await cpuRunner();
  });
  const small = { ...CARD_WISH, widthMm: 58, heightMm: 36, patchMm: 4, steps: 8 };

  test.each<[CardKind, number]>([
    ['step-wedge', 0.5],
    // The proof takes five places across a row, the quick look nine: half-cleared rows differ by so much.
    ['second-pass', 2],
    // A screen's dots are not where they were in another patch: their mean varies.
    ['tones', 4],
  ])('%s: patches within %f L*', async (kind, bound) => {
    const card = makeCard(kind, even, kind === 'tones' ? { ...CARD_WISH, heightMm: 45, patchMm: 4 } : small);
    const fields = await burn(cardPiece(card, even), cardPicture(card), runner);
    const oracle = createCardOracle(even);
    for (const patch of card.patches) {
      const { lab, residueUm } = oracle.patch(even, { ...patch, warmthPerShareK: [0, 0] });
      expect(Math.abs(meanLab(fields, card, patch.box)[0] - lab[0]), `patch ${patch.id}`).toBeLessThan(bound);
      expect(residueUm).toBeGreaterThanOrEqual(0);
    }
  });

  test('lines: as wide as the proof draws them', async () => {
    const card = makeCard('lines', even, small);
    const fields = await burn(cardPiece(card, even), cardPicture(card), runner);
    const oracle = createCardOracle(even);
    // The proof looks at places a thirtieth of a mm apart.
    const paint = linear(fields, card, { xMm: 1, yMm: 20, widthMm: 1, heightMm: 5 })[1];
    const bare = oracle.patch(even, { burns: [{ ...card.marking }], warmthPerShareK: [0] });
    const bareLight = ((bare.lab[0] + 16) / 116) ** 3;
    for (const line of card.lines) {
      const { xMm, yMm, widthMm } = line.box;
      const across = widthMm === 0;
      // A slice of 4 mm of the line's middle, 2 mm wide: its light over the paint's, as width of a cleared line.
      const slice = across
        ? { xMm: xMm - 1, yMm: yMm + 3, widthMm: 2, heightMm: 4 }
        : { xMm: xMm + 3, yMm: yMm - 1, widthMm: 4, heightMm: 2 };
      const seen = (2 * (linear(fields, card, slice)[1] - paint)) / (bareLight - paint);
      expect(Math.abs(seen - oracle.line(even, line.burn).equivalentMm), line.id).toBeLessThan(0.02);
    }
  });
});

function linear(fields: BurnedFields, card: Card, box: Card['reference']): [number, number, number] {
  const table = srgbDecodingTable(8);
  const sum: [number, number, number] = [0, 0, 0];
  let count = 0;
  const dot = (mm: number) => Math.round(mm / card.pitchMm);
  for (let y = dot(box.yMm); y < dot(box.yMm + box.heightMm); y++) {
    for (let x = dot(box.xMm); x < dot(box.xMm + box.widthMm); x++) {
      for (let k = 0; k < 3; k++) sum[k] += table[fields.color[4 * (y * fields.width + x) + k]];
      count++;
    }
  }
  const rgb = sum.map((value) => value / count) as [number, number, number];
  // Luminance in the middle for those who want only that.
  return [rgb[0], 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2], rgb[2]];
}

function meanLab(fields: BurnedFields, card: Card, { xMm, yMm, widthMm, heightMm }: Card['reference']): Lab {
  const table = srgbDecodingTable(8);
  const sum = [0, 0, 0];
  let count = 0;
  const dot = (mm: number) => Math.round(mm / card.pitchMm);
  for (let y = dot(yMm + 1); y < dot(yMm + heightMm - 1); y++) {
    for (let x = dot(xMm + 1); x < dot(xMm + widthMm - 1); x++) {
      for (let k = 0; k < 3; k++) sum[k] += table[fields.color[4 * (y * fields.width + x) + k]];
      count++;
    }
  }
  return linearRgbToLab([sum[0] / count, sum[1] / count, sum[2] / count]);
}

describe('the large patch of a step wedge', () => {
  const roomy = makeCard('step-wedge', piece, { ...CARD_WISH, widthMm: 110, heightMm: 70 });
  const side = ({ box }: (typeof roomy.patches)[number]) => box.widthMm;
  const large = roomy.patches.filter((patch) => side(patch) > CARD_WISH.patchMm);

  test('is there where there is room, lies over no other and is burned in rows of its own', () => {
    expect(large).toHaveLength(1);
    const [{ box, burns }] = large;
    for (const other of roomy.patches) {
      if (other === large[0]) continue;
      const apart =
        other.box.xMm + other.box.widthMm <= box.xMm ||
        other.box.xMm >= box.xMm + box.widthMm ||
        other.box.yMm + other.box.heightMm <= box.yMm ||
        other.box.yMm >= box.yMm + box.heightMm;
      expect(apart, other.id).toBe(true);
    }
    // One pass for marks, one for the small patches, one for the large one.
    expect(cardPiece(roomy, piece).passes).toHaveLength(3);
    expect(roomy.patches.some(({ burns: own, box: at }) => at !== box && own[0].lightness === burns[0].lightness)).toBe(
      true,
    );
    const tight = makeCard('step-wedge', piece, { ...CARD_WISH, widthMm: 58, heightMm: 36, patchMm: 4, steps: 8 });
    expect(new Set(tight.patches.map(side)).size).toBe(1);
  });

  test('gets several times as warm as a small one at the same power, and that shows', () => {
    const [warm] = large;
    const same = roomy.patches.find((patch) => patch !== warm && patch.burns[0].lightness === warm.burns[0].lightness)!;
    expect(warm.warmthPerShareK[0]).toBeGreaterThan(2.5 * same.warmthPerShareK[0]);
    const oracle = createCardOracle(even);
    const hot: Piece = { ...even, heat: { carryOver: true, retainedShare: 0.6 } };
    const cold: Piece = { ...even, heat: { carryOver: true, retainedShare: 0.1 } };
    const gain = (patch: typeof warm) => oracle.patch(hot, patch).lab[0] - oracle.patch(cold, patch).lab[0];
    expect(gain(warm)).toBeGreaterThan(1.5 * gain(same));
    expect(gain(warm)).toBeGreaterThan(1.5);
  });
});
