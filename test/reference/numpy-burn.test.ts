import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { degToRad } from '../../src/base/units.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';

interface Run {
  readonly light: number;
  readonly dark: number;
  readonly feed: number;
  readonly heading: 0 | 90;
  readonly twoWay: boolean;
  readonly offset: number;
  readonly lag?: number;
}
interface Fixture {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly fullPowerW: number;
  readonly radiusMm: number;
  readonly coats: readonly { um: number; absorptance: number; threshold: number; specificEnergy: number }[];
  readonly dots: readonly string[];
  readonly cases: readonly {
    readonly name: string;
    readonly passes: readonly Run[];
    readonly top: readonly number[];
    readonly under: readonly number[];
    readonly past: readonly number[];
    readonly fine: readonly number[];
  }[];
}

/** Burned by NumPy from the documented law (test/fixtures/burn/make-burn.py): it shares no code with the product. */
const fixture = JSON.parse(readFileSync('test/fixtures/burn/burn.json', 'utf8')) as Fixture;

function pieceOf(runs: readonly Run[]): Piece {
  const { fullPowerW, radiusMm, pitchMm } = fixture;
  const lagS = runs[0].lag ?? 0;
  const plain = flatFilm(plainPiece(fixture.width, { rowPitchMm: pitchMm }));
  const { machine, stack, passes } = plain;
  return {
    ...plain,
    machine: {
      ...machine,
      airFlow: 1,
      source: {
        ...machine.source,
        fullPowerW,
        spotAlongMm: radiusMm,
        spotAcrossMm: radiusMm,
        riseTimeS: lagS,
        fallTimeS: lagS,
        firingFloor: 0,
        powerCurve: [],
      },
      motion: { ...machine.motion, runUpMm: 500 },
      control: { ...machine.control, correctRowOffset: false },
    },
    stack: {
      ...stack,
      coats: fixture.coats.map((coat, i) => ({
        ...stack.coats[i],
        dryThicknessUm: coat.um,
        absorptance: coat.absorptance,
        thresholdJPerMm2: coat.threshold,
        specificEnergyJPerMm3: coat.specificEnergy,
      })),
    },
    passes: runs.map((run) => ({
      ...passes[0],
      lightEndPower: run.light,
      darkEndPower: run.dark,
      feedMmPerS: run.feed,
      headingRad: degToRad(run.heading),
      rows: run.twoWay ? 'two-way' : 'one-way',
      rowOffsetErrorMm: run.offset,
    })),
  };
}

const photo = pictureOf(fixture.width, fixture.height, (x, y) => Number(fixture.dots[y][x]));
const rms = (a: ArrayLike<number>, b: readonly number[]) =>
  Math.sqrt(b.reduce((sum, value, i) => sum + (a[i] - value) ** 2, 0) / b.length);
const mean = (values: ArrayLike<number>) => Array.from(values).reduce((sum, value) => sum + value, 0) / values.length;

describe('a burn by NumPy comes out the same', () => {
  test.each(fixture.cases)('$name', async ({ passes, top, under, past, fine }) => {
    const { residueUm, excess } = await burn(pieceOf(passes), photo);
    console.log(
      rms(residueUm[0], top),
      rms(residueUm[1], under),
      rms(excess, past),
      rms(residueUm[0], fine),
      mean(residueUm[0]) - mean(fine),
      mean(top),
    );
    expect(rms(residueUm[0], top)).toBeLessThan(0.02);
    expect(rms(residueUm[1], under)).toBeLessThan(0.02);
    expect(rms(excess, past)).toBeLessThan(0.002);
    // What eight places cannot tell of a cell.
    expect(rms(residueUm[0], fine)).toBeLessThan(0.2);
    expect(Math.abs(mean(residueUm[0]) - mean(fine))).toBeLessThan(0.07);
  });
});
