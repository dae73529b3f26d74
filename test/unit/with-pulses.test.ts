import { describe, expect, test } from 'vitest';
import { withPulses } from '../../src/page/physics/PassesStep.tsx';
import { pulsedCrossing } from '../../src/physics/material/layers.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { pieceSchema } from '../../src/piece/schema.ts';

const PULSES = { rateHz: 30000, incubation: 0.85, depthPerPulseUm: 1 };
const thresholds = ({ stack, slab }: ReturnType<typeof createPiece>) =>
  [...stack.coats, slab.wood].map(({ thresholdJPerMm2 }) => thresholdJPerMm2);

describe('from continuous to pulsed light', () => {
  const piece = createPiece('Pulsed', 'pulsed.jpg');
  const pulsed = withPulses(piece, PULSES);

  test('every layer begins to come off at the dose at which it did', () => {
    const [pass] = piece.passes;
    const crossing = pulsedCrossing(pulsed.machine.source, pulsed.machine.source.spotAlongMm, pass.feedMmPerS);
    const factor = crossing?.thresholdFactor ?? Number.NaN;
    expect(factor).toBeGreaterThan(5);
    expect(thresholds(pulsed).map((one) => one * factor)).toEqual(
      thresholds(piece).map((one) => expect.closeTo(one, 5)),
    );
    expect(pulsed.machine.source.pulses).toEqual(PULSES);
  });

  test('and back; with another rate meanwhile it is the crossing that keeps its threshold', () => {
    const back = withPulses(pulsed, null);
    expect(thresholds(back)).toEqual(thresholds(piece).map((one) => expect.closeTo(one, 5)));
    expect(back.machine.source).toEqual(piece.machine.source);
    const faster = withPulses(pulsed, { ...PULSES, rateHz: 60000 });
    expect(thresholds(faster)[0]).toBeLessThan(0.6 * thresholds(pulsed)[0]);
    expect(thresholds(withPulses(faster, null))[0]).toBeCloseTo(thresholds(piece)[0], 5);
  });

  test('never leaves the schema, however few pulses a crossing has', () => {
    const sparse = withPulses(piece, { ...PULSES, rateHz: 1 });
    expect(Math.max(...thresholds(sparse))).toBe(10);
    expect(pieceSchema.safeParse(sparse).success).toBe(true);
  });
});
