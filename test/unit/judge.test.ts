import { beforeAll, describe, expect, test } from 'vitest';
import type { Photo } from '../../src/burn/prepare.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import { firstLadder } from '../../src/outputs/paper/first-ladder.ts';
import { createPiece, plainSlab } from '../../src/piece/defaults.ts';
import type { Pass, Piece } from '../../src/piece/schema.ts';
import { findLowResolution } from '../../src/studies/diagnose/diagnose.ts';
import { applyEdits, briefVerdictOf, verdictOf } from '../../src/studies/diagnose/finding.ts';
import { JUDGE_DRAWS, judged, leastClearingPower, outcomeOf } from '../../src/studies/sure/judge.ts';
import { createSample, samplePlaces } from '../../src/studies/sure/sample.ts';
import { drawPiece, withDrawnFilm } from '../../src/studies/sure/spread.ts';
import { pictureOf } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

/** A bright sky with clouds, a ridge with a soft edge and dark ground with sparks: light areas of all sizes. */
const photo: Photo = {
  key: 'judge',
  castless: null,
  picture: pictureOf(240, 160, (x, y) => {
    const cloud = 0.5 + 0.5 * Math.sin(x / 9) * Math.sin(y / 7);
    const ridge = 1 / (1 + Math.exp((y - 90 - 20 * Math.sin(x / 30)) / 3));
    const spark = (x * 7 + y * 13) % 61 === 0 ? 0.9 : 0.03;
    return ridge * (0.82 + 0.18 * cloud) + (1 - ridge) * spark;
  }),
};

const withPass = (pass: Partial<Pass>): Piece => {
  const piece = createPiece('judge', 'judge.png');
  return {
    ...piece,
    slab: { ...plainSlab(piece.slab), shape: 'rectangle', widthMm: 300, heightMm: 300 },
    picture: { ...piece.picture, widthMm: 50, crop: 'rectangle' },
    passes: [{ ...piece.passes[0], ...pass }],
  };
};

const smaller = (piece: Piece): Piece => ({ ...piece, picture: { ...piece.picture, widthMm: 30 } });

let runner: SwathRunner;
const pipeline = createProofPipeline();
const collect = { surface: false, fields: false, painted: false };
const proofOf = (piece: Piece) => pipeline.proof({ piece, photo, collect }, runner);
beforeAll(async () => {
  runner = await cpuRunner();
});

describe('a sample of the picture', { timeout: 120_000 }, () => {
  const weak = withPass({ lightEndPower: 0.58 });
  test.each<[string, Piece]>([
    ['dots, two-way rows', weak],
    ['continuous tone, one-way rows', withPass({ lightEndPower: 0.6, screen: 'continuous', rows: 'one-way' })],
    [
      'a second pass',
      { ...weak, passes: [...weak.passes, { ...weak.passes[0], lightEndPower: 0.2, darkEndPower: 0 }] },
    ],
    ['a film that lies unevenly', withDrawnFilm(weak, 3)],
    ['another paint and beam', drawPiece(weak, 7)],
  ])('comes out as all of it: %s', async (_, piece) => {
    const proof = await proofOf(piece);
    const sample = createSample(piece, proof, runner);
    const { uncleared, residueUm, scorched } = outcomeOf(sample, await sample.burn(piece));
    const { summary } = proof;
    expect(summary.lightShare).toBeGreaterThan(0.1);
    expect(Math.abs(uncleared - summary.unclearedShare)).toBeLessThan(0.05);
    expect(Math.abs(residueUm - summary.meanResidueUm)).toBeLessThan(0.1 + 0.08 * summary.meanResidueUm);
    expect(Math.abs(scorched - summary.scorchedShare)).toBeLessThan(0.01);
  });

  test('a warped slab is out of focus where it is: squares know their places', async () => {
    const flat = withPass({ lightEndPower: 0.78 });
    const domed = { ...flat, slab: { ...flat.slab, widthMm: 60, heightMm: 45, domeMm: 14 } };
    const [warped, plain] = [await proofOf(domed), await proofOf(flat)];
    expect(warped.summary.meanResidueUm).toBeGreaterThan(plain.summary.meanResidueUm + 0.2);
    const sample = createSample(domed, warped, runner);
    const { residueUm } = outcomeOf(sample, await sample.burn(domed));
    expect(Math.abs(residueUm - warped.summary.meanResidueUm)).toBeLessThan(0.1 + 0.08 * warped.summary.meanResidueUm);
  });

  test('passes across are screened anew on the squares and come out alike', async () => {
    const across = { ...weak.passes[0], lightEndPower: 0.25, headingRad: Math.PI / 2 };
    const piece = { ...weak, passes: [...weak.passes, across] };
    const { summary, ...proof } = await proofOf(piece);
    const sample = createSample(piece, proof, runner);
    const { residueUm } = outcomeOf(sample, await sample.burn(piece));
    // Dots of the two passes meet a little otherwise.
    expect(Math.abs(residueUm - summary.meanResidueUm)).toBeLessThan(0.3);
  });

  test('squares are as many as asked for, each kind in proportion to what there is of it', () => {
    const tone = {
      width: 200,
      height: 100,
      lightness: Float32Array.from({ length: 20_000 }, (_, i) => (i % 200 < 40 ? 1 : i % 200 < 100 ? 0.05 : 0.5)),
      mask: new Uint8Array(20_000).fill(255),
    };
    const places = samplePlaces(tone, 10, 90);
    expect(places).toHaveLength(90);
    const light = places.filter(({ speaks }) => speaks === 'light');
    expect(light).toHaveLength(60);
    for (const { firstX } of light) expect(firstX).toBeLessThan(40);
    for (const { firstX } of places.filter(({ speaks }) => speaks === 'dark')) {
      expect(firstX).toBeGreaterThanOrEqual(40);
      expect(firstX).toBeLessThan(100);
    }
    // Of the others a fifth lies in the light fifth of the picture, wherever rows of blocks begin.
    const others = places.filter(({ speaks }) => speaks === 'all');
    const inLight = others.filter(({ firstX }) => firstX < 40).length;
    expect(Math.abs(inLight / others.length - 0.2)).toBeLessThan(0.1);
  });
});

describe('one judge', { timeout: 120_000 }, () => {
  test('the power that it finds clears in as many draws as wished, and a little less does not', async () => {
    const piece = withPass({ lightEndPower: 0.5 });
    const { judge, judgement } = await judged(piece, await proofOf(piece), runner, 20);
    const withPower = (lightEndPower: number) => withPass({ lightEndPower });
    expect(judgement.clears).toBeLessThan(0.5);
    const found = await leastClearingPower(judge, judgement, withPower, 0.9, 0.5);
    expect(found?.judgement.clears).toBeGreaterThanOrEqual(0.9);
    expect((await judge.of(withPower((found?.power ?? 0) - 0.06))).clears).toBeLessThan(0.9);
  });

  test('a rung of the ladder that clears is a proof that clears, and one that does not is not', async () => {
    // Three whole proofs for each rung: small ones.
    const piece = smaller(withPass({ lightEndPower: 0.9 }));
    const rungs = await firstLadder(piece, await pipeline.ready({ piece, photo }), runner);
    expect(rungs.some(({ words }) => words.startsWith('clears') && !words.includes('of 10'))).toBe(true);
    for (const { power, words } of rungs) {
      const shares = [];
      for (let draw = 0; draw < 3; draw++) {
        shares.push(
          (await proofOf(drawPiece(smaller(withPass({ lightEndPower: power })), draw))).summary.unclearedShare,
        );
      }
      if (words.startsWith('clears') && !words.includes('of 10')) expect(Math.max(...shares)).toBeLessThan(0.08);
      if (/nothing|just shows|still dark/.test(words)) expect(Math.min(...shares)).toBeGreaterThan(0.03);
    }
  });

  test('a verdict never says more than its odds', () => {
    const at = (accepted: number, findings: Parameters<typeof verdictOf>[1] = []) =>
      verdictOf({ accepted, clears: accepted }, findings, 'preset');
    expect(at(0.68)).toBe(
      'It may come out: the light areas clear and nothing scorches in 68 of 100 likely cases. Do not burn it yet. Burn a card first: it makes this surer.',
    );
    expect(at(0.9)).toMatch(/^It will likely come out: .* in 90 of 100/);
    expect(at(0.1)).toMatch(/^It will not come out/);
    expect(at(1)).toBe('It will come out: the light areas clear and nothing scorches in all likely cases.');
    expect(at(1, [{ kind: 'low-resolution', severity: 40 }])).toBe(
      'It comes out clear and unscorched in all likely cases, but one thing will show.',
    );
  });

  test('a verdict says what spoils the picture in the words of its findings', () => {
    const [soft, grainy] = [
      { kind: 'low-resolution' as const, severity: 80 },
      { kind: 'graininess' as const, severity: 30 },
    ];
    const at = (accepted: number, findings: Parameters<typeof verdictOf>[1]) =>
      verdictOf({ accepted, clears: accepted }, findings, 'calibrated');
    expect(at(1, [soft])).toBe('It comes out clear and unscorched in all likely cases, but one thing will spoil it.');
    expect(at(0.83, [soft, grainy])).toBe(
      'It comes out clear and unscorched in 83 of 100 likely cases, but 2 things will show, and one of them will spoil it.',
    );
    expect(at(0.6, [soft])).toMatch(/but one thing will spoil it\. Do not burn it yet\.$/);
    expect(at(0.1, [soft])).toMatch(/^It will not come out as it is set: .* One more thing will spoil it\.$/);
  });

  test('a brief verdict keeps the odds, what spoils the picture, and not to burn', () => {
    const soft = { kind: 'low-resolution' as const, severity: 80 };
    expect(briefVerdictOf(0.5, [])).toBe('It comes out in 50 of 100 likely cases. Do not burn it yet.');
    expect(briefVerdictOf(0.1, [soft])).toMatch(/Do not burn it yet\.$/);
    expect(briefVerdictOf(1, [])).toBe('It comes out in all likely cases.');
    expect(briefVerdictOf(0.96, [soft])).toMatch(/^It comes out clear in 96 of 100 .*, but one thing will spoil it\.$/);
    expect(briefVerdictOf(0.6, [soft])).toMatch(/Do not burn it yet\.$/);
  });

  test('a ladder says of the piece’s own power what its verdict says', async () => {
    const piece = smaller(withPass({ lightEndPower: 0.8 }));
    const ready = await pipeline.ready({ piece, photo });
    const { judgement } = await judged(piece, ready, runner, JUDGE_DRAWS);
    const own = (await firstLadder(piece, ready, runner)).find(({ power }) => power === 0.8);
    expect(own?.words).toContain(`clears in ${Math.round(10 * (judgement.clears ?? 0))} of 10 cases`);
  });

  test('a verdict that nothing spoils', () => {
    expect(verdictOf({ accepted: 0.83, clears: 0.83 }, [], 'calibrated')).toMatch(/^It will likely come out/);
  });

  test('a photograph enlarged ninefold is told, with the width that still looks right', () => {
    const finding = findLowResolution(250, 300);
    expect(finding?.severity).toBeGreaterThan(60);
    expect(finding?.sentence).toContain('Up to 50 mm wide it looks right');
    expect(findLowResolution(50, 300)).toBeNull();
    // As small as a stamp nobody wants it.
    expect(finding?.change).toBeNull();
  });

  test('one that is a little too large is made as wide as it looks right, by a press', () => {
    const change = findLowResolution(100, 500)?.change;
    expect(change?.words).toBe('Make the picture 84 mm wide');
    const piece = applyEdits(createPiece('x', 'x.jpg'), change?.edits ?? []);
    expect(piece.picture.widthMm).toBe(84);
    expect(findLowResolution(piece.picture.widthMm, 500)).toBeNull();
  });
});
