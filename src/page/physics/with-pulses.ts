import { spotRadii } from '../../physics/beam/source.ts';
import { pulsedCrossing } from '../../physics/material/pulses.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import type { Piece, Source } from '../../piece/schema.ts';

const HIGHEST_THRESHOLD = 10;

/**
 * The piece with pulsed light (null: continuous), its thresholds brought over from a crossing to one pulse or back, so that at the first
 * pass's feed the layers begin to come off at the dose at which they did.
 */
export function withPulses(piece: Piece, pulses: Source['pulses']): Piece {
  const { machine, slab, stack } = piece;
  const source = { ...machine.source, pulses };
  const factor = crossingOverPulse(piece, machine.source) / crossingOverPulse(piece, source);
  const bring = <Layer extends { thresholdJPerMm2: number }>(layer: Layer): Layer => ({
    ...layer,
    thresholdJPerMm2: Math.min(HIGHEST_THRESHOLD, Number((layer.thresholdJPerMm2 * factor).toPrecision(6))),
  });
  return {
    ...piece,
    machine: { ...machine, source },
    slab: { ...slab, wood: bring(slab.wood) },
    stack: { ...stack, coats: stack.coats.map(bring) },
  };
}

/** A crossing's threshold over that which a layer has written down. */
function crossingOverPulse({ passes, machine }: Piece, source: Source): number {
  const [pass] = passes;
  const crossing = pulsedCrossing(source, spotRadii(source, pass).alongMm, feedOf(pass, machine.motion));
  return crossing?.thresholdFactor ?? 1;
}
