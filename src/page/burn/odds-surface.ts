import type { ProofSurface } from '../../render/slab/surface/proof-surface.ts';
import type { HowSure } from '../../studies/sure/how-sure.ts';
import { mapSurface } from './map-surface.ts';
import type { ProofRecord } from './proof-store.ts';

export type OddsKind = 'uncleared' | 'scorched';

/** What a certain place is painted with, linear sRGB: the same hues as the marks on the proof. */
const INK: Readonly<Record<OddsKind, readonly [number, number, number]>> = {
  uncleared: [0.045, 0.19, 0.33],
  scorched: [0.42, 0.1, 0.02],
};

let last: { sure: HowSure; kind: OddsKind; surface: ProofSurface } | null = null;

/** The picture as a map of how likely each place stays uncleared or scorches; null until that is known. */
export function oddsSurface(record: ProofRecord, kind: OddsKind): ProofSurface | null {
  const { sure, coarse } = record;
  if (!sure || !coarse) return null;
  if (last?.sure === sure && last.kind === kind) return last.surface;
  const map = { ...sure.map, values: sure.map[kind] };
  const surface = mapSurface(record, `${record.id}-odds-${kind}`, map, INK[kind]);
  last = { sure, kind, surface };
  return surface;
}
