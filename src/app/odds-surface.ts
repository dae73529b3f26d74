import { encodeSrgbByte } from '../core/color/srgb.ts';
import { srgbDecodingTable } from '../core/image/srgb-decoding.ts';
import type { HowSure } from '../sim/how-sure.ts';
import type { ProofSurface } from '../view/proof-surface.ts';
import type { ProofRecord } from './stores/proof-store.ts';

export type OddsKind = 'uncleared' | 'scorched';

/** What a certain place is painted with, linear sRGB: the same hues as the marks on the proof. */
const INK: Readonly<Record<OddsKind, readonly [number, number, number]>> = {
  uncleared: [0.045, 0.19, 0.33],
  scorched: [0.42, 0.1, 0.02],
};
/** Light of the picture under the map, so that one still sees where one is. */
const PALE = 0.5;

let last: { sure: HowSure; kind: OddsKind; surface: ProofSurface } | null = null;

/** The picture as a map of how likely each place stays uncleared or scorches; null until that is known. */
export function oddsSurface(record: ProofRecord, kind: OddsKind): ProofSurface | null {
  const { sure, coarse } = record;
  if (!sure || !coarse) return null;
  if (last?.sure === sure && last.kind === kind) return last.surface;
  const { width, height, pitchMm } = sure.map;
  const base = coarse.strips[0]?.color;
  const odds = sure.map[kind];
  const linear = srgbDecodingTable(8);
  const color = new Uint8Array(4 * odds.length);
  for (let i = 0; i < odds.length; i++) {
    const grey =
      base?.length === color.length
        ? PALE *
          (0.2 +
            0.8 * (0.2126 * linear[base[4 * i]] + 0.7152 * linear[base[4 * i + 1]] + 0.0722 * linear[base[4 * i + 2]]))
        : PALE;
    const p = odds[i] / 255;
    for (let k = 0; k < 3; k++) color[4 * i + k] = encodeSrgbByte(grey + p * (INK[kind][k] - grey));
  }
  const relief = new Uint16Array(2 * odds.length);
  const id = `${record.id}-odds-${kind}`;
  const surface: ProofSurface = {
    id,
    width,
    height,
    pitchMm,
    strips: [{ y0: 0, rows: height, color, relief }],
    complete: true,
    version: 1,
  };
  last = { sure, kind, surface };
  return surface;
}
