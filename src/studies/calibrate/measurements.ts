import type { Piece } from '../../piece/schema.ts';
import type { Card, CardPatch } from '../../vision/card/card.ts';
import type { CardReading } from '../../vision/card/reading.ts';
import { firstPower } from './first-power.ts';
import type { CardOracle } from './predict-card.ts';

/** One number that was read, how sure it is, and what a piece says it should be where the film has a thickness by place. */
export interface Measurement {
  readonly what: string;
  readonly measured: number;
  readonly deviation: number;
  readonly predict: (piece: Piece, film: (box: CardPatch['box']) => number) => number;
  /** What the law is off by together with it: the ladder of its card, and where on the ladder it stands, −1 … 1. */
  readonly ladder: string;
  readonly step: number;
}

/** The law is off by about such a share of a lone line's width: its flanks lie where the onset is soft (estimate). */
const LINE_LAW_SHARE = 0.1;

/** Everything that a reading says, as numbers. */
export function measurementsOf(
  card: Card,
  reading: CardReading,
  oracle: CardOracle,
  lawDeviation: number,
): Measurement[] {
  const places = placesOnLadders(card);
  const patchOf = (id: string) => card.patches.find((patch) => patch.id === id)!;
  const colors = reading.patches.flatMap(({ id, lab, deviation }): Measurement[] => {
    const patch = patchOf(id);
    let last: { piece: Piece; film: number; lab: readonly number[] } | null = null;
    const at = (piece: Piece, film: number) => {
      if (last?.piece !== piece || last.film !== film)
        last = { piece, film, lab: oracle.patch(piece, patch, film).lab };
      return last.lab;
    };
    return ([0, 2] as const).map((k) => ({
      what: `patch ${id} ${k === 0 ? 'L*' : 'b*'}`,
      measured: lab[k],
      deviation: Math.hypot(deviation, lawDeviation),
      ...places(id),
      predict: (piece, film) => at(piece, film(patch.box))[k],
    }));
  });
  const firsts = reading.firsts.map(({ what, patch: id, lowPower, highPower }): Measurement => {
    const patch = patchOf(id);
    const low = Math.max(lowPower, 0.5 * highPower);
    return {
      what: `${what} (patch ${patch.label})`,
      measured: (Math.log(low) + Math.log(highPower)) / 2,
      // Anywhere between two patches, and an eye that is not sure itself (estimate).
      deviation: Math.hypot((Math.log(highPower) - Math.log(low)) / Math.sqrt(12), 0.02),
      predict: (piece, film) => Math.log(firstPower(piece, what, patch, oracle, film(patch.box))),
      ...places(id),
    };
  });
  const lines = reading.lines.map(({ id, measure, widthMm, deviation }): Measurement => {
    const line = card.lines.find((one) => one.id === id)!;
    return {
      what: `line ${id}`,
      measured: widthMm,
      deviation: Math.hypot(deviation, LINE_LAW_SHARE * widthMm),
      ladder: 'lines',
      step: 0,
      predict: (piece, film) =>
        oracle.line(piece, line.burn, film(line.box))[measure === 'edge' ? 'edgeMm' : 'equivalentMm'],
    };
  });
  return [...colors, ...firsts, ...lines];
}

/** The ladder of each patch, the first one for patches of none; repeats stand where their pattern does. */
function placesOnLadders({ ladders }: Card): (id: string) => Pick<Measurement, 'ladder' | 'step'> {
  const places = new Map<string, Pick<Measurement, 'ladder' | 'step'>>();
  for (const { name, patches } of ladders) {
    patches.forEach((id, i) => {
      places.set(id, { ladder: name, step: patches.length > 1 ? (2 * i) / (patches.length - 1) - 1 : 0 });
    });
  }
  return (id) => places.get(id) ?? places.get(id.replace(/r$/, '')) ?? { ladder: ladders[0]?.name ?? '', step: 0 };
}

/** Deviations with what the film's slow unevenness adds to each. */
export function spreadByFilm(measurements: readonly Measurement[], piece: Piece, nominal: Piece): number[] {
  const slow = nominal.stack.coats[0].slowVariation;
  if (slow === 0) return measurements.map(({ deviation }) => deviation);
  return measurements.map(({ deviation, predict }) => {
    const slope = (predict(piece, () => 1 + slow / 2) - predict(piece, () => 1 - slow / 2)) / slow;
    return Math.hypot(deviation, slope * slow);
  });
}
