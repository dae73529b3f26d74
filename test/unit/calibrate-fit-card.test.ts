import { describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { readDrift } from '../../src/studies/calibrate/drift.ts';
import { FIT_WISH, fitCards, openNumbers } from '../../src/studies/calibrate/fit-card.ts';
import { clearingPower, proposeCards } from '../../src/studies/calibrate/propose.ts';
import { shiftPiece } from '../../src/studies/sure/spread.ts';
import { type Card, powerOf } from '../../src/vision/card/card.ts';
import { CARD_WISH, makeCard } from '../../src/vision/card/make-card.ts';
import { offsetOfPair, parseReading, readByEye } from '../../src/vision/card/reading.ts';
import { flatFilm } from '../helpers/burn.ts';
import { REALISTIC, readTrueCard } from '../helpers/read-card.ts';

const piece = flatFilm(createPiece('test', 'test.png'));
const card = makeCard('step-wedge', piece);
const honest = readTrueCard(piece, card, { ...REALISTIC, misread: 0 }, 1);
const nothing = { shows: null, clears: null, scorches: null };

describe('readings that cannot be are refused with the reason', () => {
  const notes = { widths: {}, pair: null };
  test('by eye: cleared before it shows, scorched before it clears, labels that are not there, nothing read', () => {
    const read = (seen: Partial<typeof nothing> | object) => () =>
      readByEye(card, { ...notes, ladders: [{ ...nothing, ...seen }] });
    expect(read({ shows: 9, clears: 4 })).toThrow(/shows before it clears/);
    expect(read({ clears: 9, scorches: 4 })).toThrow(/before patch 9 is clear/);
    expect(read({ shows: 99 })).toThrow(/no patch 99/);
    expect(() => readByEye(card, { ...notes, ladders: [] })).toThrow(/nothing was read/);
    expect(() => readByEye(card, { ...notes, ladders: [], widths: { q1: 0.1 } })).toThrow(/no line "q1"/);
    expect(() => readByEye(card, { ...notes, ladders: [], pair: 3 })).toThrow(/no vernier/);
  });

  test('by photo: another card, few patches, all the same, the wrong way round', () => {
    const fitting = (reading: typeof honest) => () => fitCards(piece, [{ card, reading }]);
    expect(fitting({ ...honest, cardId: card.id ^ 1 })).toThrow(/not of card/);
    expect(fitting({ ...honest, patches: honest.patches.slice(0, 5) })).toThrow(/only 5 of/);
    expect(fitting({ ...honest, patches: honest.patches.map((one) => ({ ...one, lab: [29, 3, 4.5] })) })).toThrow(
      /all patches look the same/,
    );
    const strongest = Math.max(...card.patches.map(({ burns }) => powerOf(burns[0])));
    const middle = 0.5 * strongest;
    const flipped = honest.patches.map((one) => {
      const power = powerOf(card.patches.find(({ id }) => id === one.id)!.burns[0]);
      return { ...one, lab: [power < middle ? 88 : 29, 3, 5] as [number, number, number] };
    });
    expect(fitting({ ...honest, patches: flipped })).toThrow(/cannot clear before it shows/);
  });

  test('files: damaged, of another kind, newer', () => {
    expect(() => parseReading('{')).toThrow(/damaged/);
    expect(() => parseReading('{"format":"foreburn-card"}')).toThrow(/not a reading/);
    expect(() => parseReading('{"format":"foreburn-reading","version":3}')).toThrow(/newer/);
    expect(parseReading(JSON.stringify(honest))).toEqual(honest);
  });
});

test('the vernier: the middle pair lines up without an offset, each further pair is a step', () => {
  const lines = makeCard('lines', piece) as Card;
  const middle = (lines.vernier!.teeth + 1) / 2;
  expect(offsetOfPair(lines, middle).mm).toBe(0);
  expect(offsetOfPair(lines, middle + 2).mm).toBeCloseTo(-2 * lines.vernier!.stepMm, 12);
  const fit = fitCards(piece, [
    { card: lines, reading: readByEye(lines, { ladders: [], widths: {}, pair: middle - 1 }) },
  ]);
  expect(fit.piece.passes[0].rowOffsetErrorMm).toBeCloseTo(lines.vernier!.stepMm, 12);
});

test('a firing floor is put between the last patch that stays dark and the first that is burned', () => {
  const floor = 0.5;
  const withFloor: Piece = {
    ...piece,
    machine: { ...piece.machine, source: { ...piece.machine.source, firingFloor: floor } },
  };
  const reading = readTrueCard(withFloor, card, { ...REALISTIC, lightness: 0.3, misread: 0 }, 2);
  const { machine } = fitCards(piece, [{ card, reading }], {
    known: ['retainedHeat', 'spotAlong', 'coat1.threshold', 'coat1.specificEnergy'],
    lawDeviation: 0.7,
    tiltDeviation: 0.03,
    ladderDeviation: 0.015,
  }).piece;
  expect(Math.abs(machine.source.firingFloor - floor)).toBeLessThan(0.03);
}, 240_000);

describe('what a fit by eye says of itself', () => {
  const fit = fitCards(piece, [
    { card, reading: readByEye(card, { widths: {}, pair: null, ladders: [{ ...nothing, shows: 5, clears: 12 }] }) },
  ]);

  test('what was seen is told as the power that it stands for', () => {
    const [shows, clears] = fit.residuals;
    const powerAt = (label: string) => 100 * powerOf(card.patches.find((patch) => patch.label === label)!.burns[0]);
    expect(shows.what).toBe('power that shows, % (patch 5)');
    for (const value of [shows.measured, shows.fitted]) {
      expect(value).toBeGreaterThan(0.8 * powerAt('4'));
      expect(value).toBeLessThan(1.2 * powerAt('5'));
    }
    expect(clears.measured).toBeGreaterThan(powerAt('11'));
    expect(clears.measured).toBeLessThan(powerAt('12'));
  });

  test('of two cards each patch is named by its own', () => {
    const other = makeCard('check-strip', piece);
    const seen = readByEye(other, { widths: {}, pair: null, ladders: [{ ...nothing, clears: 5 }] });
    const eye = readByEye(card, { widths: {}, pair: null, ladders: [{ ...nothing, clears: 5 }] });
    const { residuals } = fitCards(piece, [
      { card, reading: eye },
      { card: other, reading: seen },
    ]);
    expect(residuals.map(({ what }) => what)).toEqual([
      `card ${card.id}, power that clears, % (patch 5)`,
      `card ${other.id}, power that clears, % (patch 5)`,
    ]);
  });

  test('no more heat than all of it stays', () => {
    const { value, deviation, high } = fit.numbers.find(({ name }) => name === 'retainedHeat')!;
    expect(value * Math.exp(1.645 * deviation)).toBeGreaterThan(1);
    expect(high).toBe(1);
  });

  test('what stays open is told once for each thing that would tell it', () => {
    const lines = openNumbers(fit);
    expect(fit.untold.length).toBeGreaterThan(lines.length);
    expect(new Set(lines.map(({ helps }) => helps)).size).toBe(lines.length);
    expect(lines.map(({ words }) => words).join()).toContain('film thickness of the top coat');
  });
});

describe('drift', () => {
  const strip = makeCard('check-strip', piece);
  const calibrated: Piece = {
    ...piece,
    certainty: {
      source: 'calibrated',
      threshold: 0.02,
      specificEnergy: 0.02,
      thickness: 0.02,
      power: 0,
      covariance: null,
    },
  };
  test('8 % less power is told as such, with its interval', () => {
    const dim: Piece = {
      ...piece,
      machine: { ...piece.machine, source: { ...piece.machine.source, fullPowerW: 9.2 } },
    };
    const drift = readDrift(calibrated, strip, readTrueCard(dim, strip, { ...REALISTIC, misread: 0 }, 4));
    expect(drift.low).toBeLessThan(0.92);
    expect(drift.high).toBeGreaterThan(0.92);
    expect(drift.high - drift.low).toBeLessThan(0.15);
    expect(drift.sure).toBe(true);
    expect(drift.words).toMatch(/less power arrives.*clean the lens/);
  });
  test('no drift is no drift', () => {
    const drift = readDrift(calibrated, strip, readTrueCard(piece, strip, { ...REALISTIC, misread: 0 }, 5));
    expect(drift.sure).toBe(false);
    expect(drift.words).toMatch(/still holds/);
  });
}, 240_000);

describe('what to burn next', () => {
  test('every proposal fits the scrap, the one that tells most comes first, and too small a scrap is told', () => {
    const proposals = proposeCards(piece, { widthMm: 70, heightMm: 50 });
    for (const { card: one } of proposals) expect([one.widthMm, one.heightMm]).toEqual([70, 50]);
    expect(proposals.map(({ tells }) => tells)).toEqual(proposals.map(({ tells }) => tells).sort((a, b) => b - a));
    expect(() => proposeCards(piece, { widthMm: 20, heightMm: 20 })).toThrow(/larger piece of scrap/);
  });

  test('what is known already tells nothing new', () => {
    const names = [
      'spotAcross',
      'spotAlong',
      'beamQuality',
      'coat0.threshold',
      'coat0.specificEnergy',
      'coat0.thickness',
      'coat0.scattering',
      'coat1.scorchOnset',
    ];
    const matrix = names.map((_, i) => names.map((__, j) => (i === j ? 1e-8 : 0)));
    const known: Piece = {
      ...piece,
      certainty: { ...piece.certainty, source: 'calibrated', covariance: { names, matrix } },
    };
    const [best] = proposeCards(piece, CARD_WISH);
    const [rest] = proposeCards(known, CARD_WISH);
    expect(best.tells).toBeGreaterThan(0.7);
    expect(rest.tells).toBeLessThan(0.1 * best.tells);
  });
}, 240_000);

describe('skin that a pass has touched', () => {
  const open = shiftPiece(piece, ['coat0.opticalDepth', 'coat0.threshold'], [0, Math.log(0.27)]);
  const truth = shiftPiece(open, ['coat0.touched'], [Math.log(1.2)]);
  const clearing = clearingPower(open);
  const wish = { ...CARD_WISH, widthMm: 110, heightMm: 70, clearing };
  const fitted = (kinds: readonly ('step-wedge' | 'second-pass')[]) =>
    fitCards(
      open,
      kinds.map((kind, i) => {
        const own = makeCard(kind, open, wish);
        return { card: own, reading: readTrueCard(truth, own, { ...REALISTIC, misread: 0 }, 5 + i) };
      }),
    ).numbers.find(({ name }) => name === 'coat0.touched')!;

  test('a card of second passes tells how much more it takes up', () => {
    const { low, high, deviation, deviationBefore } = fitted(['step-wedge', 'second-pass']);
    expect(deviation).toBeLessThan(0.6 * deviationBefore);
    expect(low).toBeLessThan(1.2);
    expect(high).toBeGreaterThan(1.2);
  });

  test('where no pass comes second nothing is learned: what it may be stays as wide as it was', () => {
    const { value, deviation, deviationBefore } = fitted(['step-wedge']);
    expect(value).toBeCloseTo(1, 6);
    expect(deviation).toBeGreaterThan(0.99 * deviationBefore);
  });
});

test('what the law is off by on the next slab is in the piece’s spread, also where the film was measured', () => {
  const wedge = makeCard('step-wedge', piece);
  const reading = readTrueCard(piece, wedge, { ...REALISTIC, misread: 0 }, 3);
  const expectOff = (known: readonly string[], offs: Readonly<Record<string, number>>) => {
    const { piece: fitted, numbers } = fitCards(piece, [{ card: wedge, reading }], { ...FIT_WISH, known });
    const { names, matrix } = fitted.certainty.covariance!;
    const spread = (name: string) => Math.sqrt(matrix[names.indexOf(name)][names.indexOf(name)]);
    const alone = (name: string) => numbers.find((one) => one.name === name)?.deviation ?? 0;
    for (const [name, off] of Object.entries(offs)) expect(spread(name)).toBeCloseTo(Math.hypot(alone(name), off), 6);
    return names;
  };
  const offs = { 'coat0.thickness': 0.05, 'coat0.touched': 0.2, 'coat0.threshold': 0 };
  expectOff([], { ...offs, 'coat0.opticalDepth': 0.15 });
  expectOff(['coat0.thickness'], { ...offs, 'coat0.opticalDepth': 0.15 });
  // A film that was entered as opaque is not opened by the draws.
  expect(expectOff(['coat0.opticalDepth'], offs)).not.toContain('coat0.opticalDepth');
});
