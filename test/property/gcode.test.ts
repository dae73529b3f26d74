import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { passProgram, type ScreenedRaster } from '../../src/outputs/program/pass-program.ts';
import { createPassRaster, findSpans, leastGapMm } from '../../src/physics/raster/pass-raster.ts';
import { passTime } from '../../src/physics/raster/pass-time.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { burnProgram, centreOf } from '../helpers/burn-program.ts';
import { type Program, programTimeS, readProgram, stretches } from '../helpers/gcode-reader.ts';

/** A piece with settings drawn at random, and a pass that is screened at random: dots, even stretches, blank stretches, holes. */
function randomJob(seed: number): { piece: Piece; screened: ScreenedRaster } {
  const random = createGenerator(seed);
  const between = (low: number, high: number) => low + (high - low) * random.nextUnit();
  const pick = <Value>(values: readonly Value[]): Value => values[Math.floor(values.length * random.nextUnit())];
  const base = createPiece('Hollin Reach (näht)', 'photo.png');
  const feedMmPerS = between(20, 150);
  const accelerationMmPerS2 = between(1000, 6000);
  const pitchMm = pick([0.05, 0.085, 0.1, 0.2]);
  const units = pick(['mm', 'inch'] as const);
  const dark = pick([0, 0.01, 0.08, 0.3]);
  const zero = pick(['bed-corner', 'picture-centre'] as const);
  const piece: Piece = {
    ...base,
    picture: { ...base.picture, offsetXMm: between(-20, 20), offsetYMm: between(-20, 20) },
    placement: { ...base.placement, xMm: between(150, 250), yMm: between(150, 250), turnRad: between(-3, 3) },
    machine: {
      ...base.machine,
      motion: {
        ...base.machine.motion,
        accelerationMmPerS2,
        maxFeedMmPerS: feedMmPerS * between(1, 3),
        // As long as the ramp at least: a shorter one is another test's.
        runUpMm: (feedMmPerS * feedMmPerS) / (2 * accelerationMmPerS2) + between(0, 4),
      },
      control: {
        ...base.machine.control,
        powerScale: pick([1, 100, 255, 1000, 10000]),
        units,
        decimals: units === 'inch' ? 5 : pick([3, 4]),
        beam: pick(['holds-power', 'follows-speed'] as const),
        powerAtRest: random.nextUnit() < 0.5,
        zero,
        park: zero === 'bed-corner' ? pick(['picture-centre', 'bed-corner', 'stay'] as const) : 'picture-centre',
        startWords: pick(['', 'M8\nG4 P0.5']),
        endWords: pick(['', 'M9']),
        correctRowOffset: random.nextUnit() < 0.7,
      },
    },
    passes: [
      {
        ...base.passes[0],
        feedMmPerS,
        rowPitchMm: pitchMm,
        headingRad: pick([0, Math.PI / 2, Math.PI, between(0, 6.28)]),
        rows: pick(['one-way', 'two-way'] as const),
        rowOffsetErrorMm: pick([0, between(-0.5, 0.5)]),
        lightEndPower: between(0.4, 1),
        darkEndPower: dark,
      },
    ],
  };
  const [pass] = piece.passes;
  const raster = createPassRaster(pitchMm * 700, pitchMm * 24, pitchMm, pass.headingRad);
  const { columns, rows } = raster;
  const levels = new Uint8Array(columns * rows);
  const mask = new Uint8Array(columns * rows).fill(255);
  const graded = random.nextUnit() < 0.3;
  for (let row = 0; row < rows; row++) {
    // Now and then a row with nothing on it.
    const empty = random.nextUnit() < 0.15;
    for (let c = 0; c < columns; ) {
      const run = Math.floor(between(1, random.nextUnit() < 0.2 ? 400 : 6));
      const blank = empty || random.nextUnit() < 0.3;
      const level = graded ? Math.floor(256 * random.nextUnit()) : pick([0, 255]);
      for (let i = 0; i < run && c < columns; i++, c++) {
        levels[row * columns + c] = level;
        if (blank) mask[row * columns + c] = 0;
      }
    }
  }
  const { source, motion } = piece.machine;
  const share = (level: number) => pass.darkEndPower + ((pass.lightEndPower - pass.darkEndPower) * level) / 255;
  const fires = (level: number) => share(level) > 0 && share(level) >= source.firingFloor;
  const leastGap = leastGapMm(feedMmPerS, motion) / pitchMm;
  const spans = findSpans(levels, mask, columns, rows, fires, pass.rows === 'two-way', leastGap);
  return { piece, screened: { raster, levels, mask, spans } };
}

const textOf = (piece: Piece, screened: ScreenedRaster): string =>
  [...passProgram(piece, 0, screened)]
    .map(({ bytes }) => new TextDecoder('ascii', { fatal: true }).decode(bytes))
    .join('');

describe('programs of passes, read back by an independent reader', () => {
  test.each(Array.from({ length: 24 }, (_, i) => i + 1))(
    'job %d burns what was planned, safely and in the time told',
    (seed) => {
      const { piece, screened } = randomJob(seed);
      const [pass] = piece.passes;
      const { motion, control, source } = piece.machine;
      const program = readProgram(textOf(piece, screened), centreOf(piece));

      // The raster is the plan.
      const shift = control.correctRowOffset ? -pass.rowOffsetErrorMm : 0;
      const burned = burnProgram(program, piece, screened.raster, shift);
      const step = control.powerScale >= 250 ? 1 : 10 ** -Math.ceil(Math.log10(250 / control.powerScale));
      const leastS = Math.ceil((source.firingFloor * control.powerScale) / step - 1e-9) * step;
      const wrong: unknown[] = [];
      for (let dot = 0; dot < burned.length; dot++) {
        const share = pass.darkEndPower + ((pass.lightEndPower - pass.darkEndPower) * screened.levels[dot]) / 255;
        const dark = screened.mask[dot] === 0 || share < source.firingFloor;
        // Light that is wanted never falls below the floor by rounding.
        const planned = dark ? 0 : Math.max(leastS, share * control.powerScale);
        const fits = dark ? burned[dot] === 0 : Math.abs(burned[dot] - planned) <= 0.5001 * step;
        if (!fits || burned[dot] > control.powerScale * control.powerLimit)
          wrong.push({ dot, planned, got: burned[dot] });
      }
      expect(wrong.slice(0, 3)).toEqual([]);

      // Beam off first, at rest, on rapids and until the head is up to speed.
      expect(program.lines[0]).toBe('M5');
      for (const { s, beam } of program.rests) expect(beam === 'off' || s === 0).toBe(true);
      const ramp = pass.feedMmPerS ** 2 / (2 * motion.accelerationMmPerS2);
      const unit = control.units === 'inch' ? 25.4 : 1;
      for (const stretch of stretches(program.motions)) {
        if (stretch[0].rapid) expect(stretch.every(({ s }) => s === 0)).toBe(true);
        const lit = stretch.filter(({ s, beam }) => beam !== 'off' && s > 0);
        if (lit.length === 0) continue;
        const distance = (a: readonly number[], b: readonly number[]) => Math.hypot(a[0] - b[0], a[1] - b[1]);
        const rounding = 2 * unit * 10 ** -control.decimals;
        expect(distance(stretch[0].from, lit[0].from)).toBeGreaterThan(ramp - rounding);
        expect(distance(lit.at(-1)!.to, stretch.at(-1)!.to)).toBeGreaterThan(ramp - rounding);
        // Runs of equal power are one move.
        expect(stretch.filter(({ s }, i) => i > 0 && s === stretch[i - 1].s)).toEqual([]);
        expect(stretch[0].feedMmPerS).toBeLessThanOrEqual(motion.maxFeedMmPerS + 1e-9);
        expect(stretch[0].feedMmPerS / pass.feedMmPerS).toBeCloseTo(1, 3);
      }

      // The time is what the proof tells, from the first row to the last.
      const work = program.motions.filter(({ beam }) => beam !== 'off');
      const told = passTime(screened.spans, pass.rowPitchMm, pass, motion, shift).timeS;
      expect(programTimeS(work, motion.maxFeedMmPerS, motion.accelerationMmPerS2) / told).toBeGreaterThan(0.98);
      expect(programTimeS(work, motion.maxFeedMmPerS, motion.accelerationMmPerS2) / told).toBeLessThan(1.02);

      // It ends where it should.
      const [cx, cy] = centreOf(piece);
      const last = work.at(-1)!.to;
      const park = { 'picture-centre': [cx, cy], 'bed-corner': [0, 0], stay: last }[control.park];
      expect(Math.hypot(program.end[0] - park[0], program.end[1] - park[1])).toBeLessThan(0.01);
    },
  );

  test('the jobs above leap over blank stretches, run both ways and leave rows out', () => {
    const jobs = Array.from({ length: 24 }, (_, i) => randomJob(i + 1).screened.spans);
    expect(jobs.filter(({ gaps }) => gaps!.first.length > 0).length).toBeGreaterThan(3);
    expect(jobs.filter(({ backwards }) => backwards.includes(1)).length).toBeGreaterThan(5);
    expect(jobs.filter(({ end }) => end.includes(0)).length).toBeGreaterThan(5);
  });

  test('a turned bed or another heading turns the program and changes nothing else', () => {
    const { piece, screened } = randomJob(3);
    const straight = (turnRad: number) => ({ ...piece, placement: { ...piece.placement, turnRad } });
    const read = (turned: Piece) => readProgram(textOf(turned, screened), centreOf(turned));
    const a = read(straight(0));
    const b = read(straight(1));
    const length = ({ motions }: Program) =>
      motions
        .filter(({ s }) => s > 0)
        .reduce((sum, { from, to }) => sum + Math.hypot(to[0] - from[0], to[1] - from[1]), 0);
    expect(length(b)).toBeCloseTo(length(a), 0);
  });
});
