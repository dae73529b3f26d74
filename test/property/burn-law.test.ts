import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { type CellCase, cellsInput } from '../helpers/burn-input.ts';
import { burnByReference } from '../helpers/reference-burn.ts';

/** The law of one cell, dose by dose, apart from beam and raster. */
const f32 = Math.fround;

/** What one crossing does with its energy, J/mm² incident on the layer or J/mm² taken up by it. */
interface Crossing {
  /** Per layer: thickness removed, mm; dose that the layer kept (incident), J/mm². */
  readonly removedMm: number[];
  readonly kept: number[];
  /** Dose that went past each layer. */
  readonly passed: number[];
  /** Dose that went past a layer and only warms what lies below. */
  warmed: number;
}

/**
 * One crossing by hand, layer by layer, as the kernel's comment states the law. `left` is what is left of each layer in mm (wood:
 * endless) and is changed.
 */
function cross(dose: number, layers: CellCase['layers'], left: number[]): Crossing {
  const result: Crossing = { removedMm: [], kept: [], passed: [], warmed: 0 };
  let incident = dose;
  let stopped = false;
  layers.forEach(([absorptance, threshold, q], i) => {
    const thin = Number.isFinite(left[i]) ? Math.min(1, (left[i] * q) / threshold) : 1;
    let removed = 0;
    let kept = 0;
    let burning = Number.POSITIVE_INFINITY;
    if (left[i] > 0) {
      // A layer that keeps dose without giving way ends the burn there; what shines through only warms what lies below.
      if (stopped || absorptance * incident <= threshold) {
        kept = thin * incident;
        stopped = true;
      } else {
        removed = Math.min(left[i], (absorptance * incident - threshold) / q);
        if (removed < left[i]) {
          kept = thin * incident;
          stopped = true;
        } else {
          const price = (threshold + q * left[i]) / absorptance;
          kept = thin * price;
          burning = 3 * (incident - price);
        }
      }
    }
    left[i] -= removed;
    incident -= kept;
    result.removedMm.push(removed);
    result.kept.push(kept);
    result.passed.push(incident);
    // The next layer's burn starts from nothing at the dose that just clears this one.
    result.warmed += Math.max(0, incident - burning);
    incident = Math.min(incident, burning);
  });
  return result;
}

describe('the energy account balances at every crossing', () => {
  const random = createGenerator(41);
  const between = (low: number, high: number) => f32(low + (high - low) * random.nextUnit());

  test.each([0, 1, 2, 3])('%d coats over wood', async (coats) => {
    for (let round = 0; round < 60; round++) {
      const layers = Array.from(
        { length: coats + 1 },
        () => [between(0.05, 1), between(0.01, 0.3), between(1, 20)] as const,
      );
      const crossings = 1 + Math.floor(7 * random.nextUnit());
      const cells: CellCase[] = Array.from({ length: 8 }, () => ({
        layers,
        coatsUm: Array.from({ length: coats }, () => between(0, 40)),
        doses: Array.from({ length: crossings }, () => between(0, 1) ** 2 * 2).map(f32),
      }));
      const output = burnByReference(cellsInput(cells));
      cells.forEach((cell, i) => {
        const left = [...cell.coatsUm.map((um) => um / 1000), Number.POSITIVE_INFINITY];
        let depthMm = 0;
        let pastTop = 0;
        for (const dose of cell.doses) {
          const { removedMm, kept, passed, warmed } = cross(dose, layers, left);
          // What comes in is kept by some layer or goes past the last one; nothing is made on the way.
          expect(kept.reduce((a, b) => a + b, 0) + warmed + passed[coats]).toBeCloseTo(dose, 12);
          expect(warmed).toBeGreaterThanOrEqual(0);
          layers.forEach(([absorptance, , q], k) => {
            expect(kept[k]).toBeGreaterThanOrEqual(0);
            expect(passed[k]).toBeGreaterThanOrEqual(-1e-12);
            // The energy of what was removed is no more than what the layer took up.
            expect(q * removedMm[k]).toBeLessThanOrEqual(absorptance * kept[k] + 1e-12);
          });
          depthMm += removedMm.reduce((a, b) => a + b, 0);
          pastTop += coats > 0 ? passed[0] : dose;
        }
        // Single precision going in and coming out, and a dose is multiplied by up to 1000/q on the way.
        expect(Math.abs(output.depthUm[i] - 1000 * depthMm)).toBeLessThan(1e-3 + 1e-6 * 1000 * depthMm);
        expect(Math.abs(output.excess[i] - pastTop)).toBeLessThan(1e-5);
        expect(output.excess[i]).toBeLessThanOrEqual(cell.doses.reduce((a, b) => a + b, 0) + 1e-6);
      });
    }
  });
});

/** The default stack: dark top coat, light undercoat, wood. */
const LAYERS = [
  [0.93, 0.1153, 11.3],
  [0.12, 0.11, 15],
  [0.59, 0.05, 3.5],
] as const;
const COATS = [25, 50];

const burnDoses = async (doses: readonly number[], depthUm = 0, more: Partial<CellCase> = {}) =>
  burnByReference(
    cellsInput(doses.map((dose) => ({ layers: LAYERS, coatsUm: COATS, doses: [dose], depthUm, ...more }))),
  );

/** Largest rise and largest fall from one value to the next. */
function steps(values: Float32Array): { rise: number; fall: number } {
  let rise = 0;
  let fall = 0;
  for (let i = 1; i < values.length; i++) {
    rise = Math.max(rise, values[i] - values[i - 1]);
    fall = Math.max(fall, values[i - 1] - values[i]);
  }
  return { rise, fall };
}

describe('the law is continuous', () => {
  /** Steepest of A/q over the layers, µm per J/mm²: the wood's. */
  const STEEPEST = Math.max(...LAYERS.map(([absorptance, , q]) => (1000 * absorptance) / q));
  const scan = (from: number, step: number, count: number) => Array.from({ length: count }, (_, i) => from + i * step);

  test('in the dose, through the thresholds and ends of every layer', async () => {
    const step = 4e-4;
    const { depthUm, excess } = await burnDoses(scan(0, step, 20_000));
    // No step may be longer than the steepest straight piece of the law makes it (and 1 % for single precision).
    expect(steps(depthUm).rise).toBeLessThanOrEqual(1.01 * STEEPEST * step);
    expect(steps(depthUm).fall).toBe(0);
    expect(steps(excess).rise).toBeLessThanOrEqual(1.01 * step);
    expect(steps(excess).fall).toBe(0);
    // The scan went through both coats and into the wood: (0.11 + 15 · 0.05) / 0.12 = 7.2 J/mm² for the undercoat alone.
    expect(depthUm.at(-1)).toBeGreaterThan(75 + 10);
  });

  test('in the dose, on what an earlier crossing left of the top coat', async () => {
    const step = 1e-4;
    // Up to the dose at which the undercoat gives way, 0.92 J/mm².
    for (const left of [24, 12, 10.3, 10.2, 8, 3, 1, 0.3, 0.01]) {
      const { depthUm, excess } = await burnDoses(scan(0, step, 9000), 25 - left);
      // Three times as steep where the next layer's burn catches up after a thin rest.
      expect(steps(depthUm).rise).toBeLessThanOrEqual(3.03 * STEEPEST * step);
      expect(steps(depthUm).fall).toBe(0);
      expect(steps(excess).rise).toBeLessThanOrEqual(1.01 * step);
      expect(steps(excess).fall).toBeLessThan(1e-6);
    }
  });

  test('in the dose, where a thin rest lies over something that gives way sooner', async () => {
    const step = 1e-4;
    const overWood = [LAYERS[0], LAYERS[2]];
    for (const left of [8, 2, 0.5, 0.01]) {
      const { depthUm } = await burnDoses(scan(0, step, 9000), 25 - left, { layers: overWood, coatsUm: [25] });
      // The wood's burn may rise three times as steeply until it has caught up.
      expect(steps(depthUm).rise).toBeLessThanOrEqual(3.03 * STEEPEST * step);
      expect(steps(depthUm).fall).toBe(0);
    }
  });

  test('in the thickness of the film, down to none', async () => {
    const step = 0.01;
    for (const dose of [0.05, 0.12, 0.125, 0.2, 0.5]) {
      const cells = scan(0, step, 4001).map((um) => ({ layers: LAYERS, coatsUm: [um, 50], doses: [dose] }));
      const { excess } = burnByReference(cellsInput(cells));
      // A film that is cleared keeps (q h / A) · (1 + q h / Eth), which grows by 3 q/A at most while q h < Eth; one that is not keeps
      // the share q h / Eth of the dose.
      const steepest = Math.max((3 * 11.3) / 0.93 / 1000, dose / (115.3 / 11.3));
      expect(steps(excess).fall).toBeLessThanOrEqual(1.01 * steepest * step + 1e-6);
      expect(steps(excess).rise).toBeLessThan(1e-6);
      expect(excess[0]).toBeCloseTo(dose, 6);
    }
  });
});

describe('a film that lets light by as it vanishes', () => {
  const burned = async (doses: readonly number[], thinUm: number, left = 25) => {
    const cells = doses.map((dose) => ({ layers: LAYERS, coatsUm: COATS, doses: [dose], depthUm: 25 - left }));
    return burnByReference(cellsInput(cells, 0, thinUm));
  };
  const scan = (from: number, step: number, count: number) => Array.from({ length: count }, (_, i) => from + i * step);

  test('loses as much as the sum over ever thinner films says', async () => {
    // du = −(1 − s'·exp(−u/δ))·dz in steps of a thousandth of a µm, s' = 0.985 / (1 − τ) as the kernel states the law.
    for (const thinUm of [1, 4, 8]) {
      for (const dose of [0.2, 0.35, 0.43, 0.5]) {
        let left = 25;
        const lost = 0.985 / (1 - 0.1153 / (0.93 * dose));
        for (let z = (0.93 * dose - 0.1153) / 0.0113; z > 0 && left > 0; z -= 1e-3)
          left -= Math.max(0, Math.min(z, 1e-3) * (1 - lost * Math.exp(-left / thinUm)));
        const { depthUm } = await burned([dose], thinUm);
        expect(Math.abs(25 - depthUm[0] - Math.max(0, left))).toBeLessThan(2e-3);
      }
    }
  });

  test.each([0.5, 3, 7])('has no jump in the dose and never keeps more for more of it, δ %d µm', async (thinUm) => {
    const step = 1e-4;
    for (const left of [25, 12, 4, 0.5]) {
      const { depthUm, excess } = await burned(scan(0, step, 12_000), thinUm, left);
      expect(steps(depthUm).rise).toBeLessThanOrEqual((3.03 * 930 * step) / 11.3);
      expect(steps(depthUm).fall).toBeLessThan(1e-5);
      expect(steps(excess).rise).toBeLessThanOrEqual(1.01 * step);
      expect(steps(excess).fall).toBeLessThan(1e-6);
      // 10 times the threshold leave a tail, 0.97 and a tenth come to more than the whole.
      expect(depthUm.at(-1)).toBeGreaterThan(25 - 0.1 * thinUm);
    }
  });

  test('is the plain law as δ vanishes, and thick films are what they were', async () => {
    const doses = scan(0.02, 0.01, 60);
    const [plain, nearly, some] = await Promise.all([0, 1e-4, 2].map((thinUm) => burned(doses, thinUm)));
    doses.forEach((_, i) => {
      expect(Math.abs(plain.depthUm[i] - nearly.depthUm[i])).toBeLessThan(2e-3);
      if (plain.depthUm[i] < 12) expect(Math.abs(plain.depthUm[i] - some.depthUm[i])).toBeLessThan(5e-3);
      expect(some.depthUm[i]).toBeLessThanOrEqual(plain.depthUm[i] + 1e-5);
    });
  });
});

describe('skin that an earlier pass has touched', () => {
  const burned = async (doses: readonly number[], gone: number, touched: number) => {
    const cells = doses.map((dose) => ({ layers: LAYERS, coatsUm: COATS, doses: [dose, dose], depthUm: gone }));
    return burnByReference(cellsInput(cells, 0, 4, touched));
  };

  test('burns as under that much more light, from half a µm on; untouched skin as ever', async () => {
    const doses = Array.from({ length: 60 }, (_, i) => 0.01 * (i + 1));
    const more = doses.map((dose) => 1.25 * dose);
    for (const gone of [0.5, 5, 20]) {
      const [touched, plain] = await Promise.all([burned(doses, gone, 1.25), burned(more, gone, 1)]);
      // Until the coat is gone: the next one is as it was.
      doses.forEach((_, i) => {
        if (plain.depthUm[i] < 25) expect(Math.abs(touched.depthUm[i] - plain.depthUm[i])).toBeLessThan(1e-3);
      });
    }
    const [fresh, plain] = await Promise.all([burned(doses, 0, 1.25), burned(doses, 0, 1)]);
    expect(fresh.depthUm).toEqual(plain.depthUm);
    expect(fresh.excess).toEqual(plain.excess);
  });

  test('has no jump where a pass begins to touch, nor where it has touched enough', async () => {
    const ends = await Promise.all(Array.from({ length: 61 }, (_, i) => burned([0.15, 0.25], 0.01 * i, 1.3)));
    for (let i = 1; i < ends.length; i++)
      for (const k of [0, 1])
        expect(Math.abs(ends[i].depthUm[k] - ends[i - 1].depthUm[k])).toBeLessThan(
          0.01 + (2 * 0.3 * 0.01 * 2 * 930 * 0.25) / 11.3,
        );
  });
});

describe('crossings are paid for one by one', () => {
  test('a dose that clears at once does nothing in four parts below the threshold', async () => {
    // Clearing 25 µm at once takes (0.1153 + 11.3 · 0.025) / 0.93 = 0.428 J/mm²; four times 0.12 J/mm² is more than that.
    const at = async (...parts: number[]) =>
      burnByReference(cellsInput([{ layers: LAYERS, coatsUm: COATS, doses: parts }])).depthUm[0];
    expect(await at(0.48)).toBe(25);
    expect(await at(0.12, 0.12, 0.12, 0.12)).toBe(0);
    // In two parts the threshold is paid twice.
    const twice = ((0.93 * 0.48 - 2 * 0.1153) / 11.3) * 1000;
    expect(await at(0.24, 0.24)).toBeCloseTo(twice, 3);
  });

  test('the strong crossing first or last: what is left decides what goes past', async () => {
    const past = async (...parts: number[]) =>
      burnByReference(cellsInput([{ layers: LAYERS, coatsUm: COATS, doses: parts }])).excess[0];
    // Once the film is gone, the weak crossing goes past whole; before that it is stopped.
    expect(await past(0.48, 0.12)).toBeGreaterThan((await past(0.12, 0.48)) + 0.1);
  });

  test('no dose, no change; not even on a surface that was burned', async () => {
    const output = await burnDoses([0, 0, 0], 30, { excess: 0.4 });
    expect(Array.from(output.depthUm)).toEqual([30, 30, 30]);
    expect(output.excess[0]).toBeCloseTo(0.4, 6);
  });
});

describe('more dose never leaves more', () => {
  test('whatever the state, the stack and the number of crossings', async () => {
    const random = createGenerator(42);
    for (let round = 0; round < 150; round++) {
      const layers = Array.from(
        { length: 1 + Math.floor(4 * random.nextUnit()) },
        () => [0.05 + 0.95 * random.nextUnit(), 0.3 * random.nextUnit(), 1 + 19 * random.nextUnit()] as const,
      );
      const coatsUm = layers.slice(1).map(() => 30 * random.nextUnit());
      const crossings = 1 + 2 * Math.floor(4 * random.nextUnit());
      const doses = Array.from({ length: crossings }, () => 2 * random.nextUnit() ** 3);
      const depthUm = 40 * random.nextUnit() ** 2;
      const more = [1, 1.001, 1.1, 1.7, 4].map((factor) => ({
        layers,
        coatsUm,
        depthUm,
        doses: doses.map((dose) => dose * (random.nextUnit() < 0.5 ? factor : 1) * factor),
      }));
      // Each case must have at least the doses of the one before.
      for (let i = 1; i < more.length; i++)
        more[i].doses = more[i].doses.map((dose, k) => Math.max(dose, more[i - 1].doses[k]));
      const { depthUm: depths } = burnByReference(cellsInput(more));
      for (let i = 0; i < depths.length; i++) {
        expect(depths[i]).toBeGreaterThanOrEqual(f32(depthUm));
        // Single precision of the stored depth.
        if (i > 0) expect(depths[i]).toBeGreaterThanOrEqual(depths[i - 1] * (1 - 1e-6) - 1e-4);
      }
    }
  });
});

describe('between the dots of a row', () => {
  test('the dose is interpolated in a straight line', async () => {
    const doses = [0.2, 0.4, 0.25, 0.3, 0.3];
    const cells = doses.map((dose) => ({ layers: LAYERS, coatsUm: [100, 50], doses: [dose] }));
    const input = cellsInput(cells);
    for (const fraction of [0, 0.1, 0.25, 0.5, 0.75, 0.9, 0.999]) {
      const place = { ...input.place, columnOrigin: fraction };
      // Four of the five: the last one would need a dot beyond the row.
      const { depthUm } = burnByReference({
        ...input,
        place,
        width: 4,
        depthUm: new Float32Array(4),
        excess: new Float32Array(4),
      });
      for (let x = 0; x < 4; x++) {
        const dose = doses[x] * (1 - fraction) + doses[x + 1] * fraction;
        expect(depthUm[x]).toBeCloseTo((1000 * (0.93 * dose - 0.1153)) / 11.3, 3);
      }
    }
  });
});
