import { encodeSrgbByte, srgbDecodingTable } from '../../base/color/srgb.ts';
import type { ProofSurface } from '../../render/slab/surface/gpu-surface.ts';
import type { ProofRecord } from './proof-store.ts';

/** A map over a picture at screen size, 0–255 a place. */
interface PlaceMap {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly values: Uint8Array;
}

/** Light of the picture under the map, so that one still sees where one is. */
const PALE = 0.5;

/** The picture in pale grey with a map over it; `ink`, linear sRGB, is what 255 is painted with. */
export function mapSurface(
  record: ProofRecord,
  id: string,
  { width, height, pitchMm, values }: PlaceMap,
  ink: readonly [number, number, number],
): ProofSurface {
  const base = record.coarse?.swaths[0]?.color;
  const linear = srgbDecodingTable(8);
  const color = new Uint8Array(4 * values.length);
  for (let i = 0; i < values.length; i++) {
    const grey =
      base?.length === color.length
        ? PALE *
          (0.2 +
            0.8 * (0.2126 * linear[base[4 * i]] + 0.7152 * linear[base[4 * i + 1]] + 0.0722 * linear[base[4 * i + 2]]))
        : PALE;
    const share = values[i] / 255;
    for (let k = 0; k < 3; k++) color[4 * i + k] = encodeSrgbByte(grey + share * (ink[k] - grey));
  }
  const relief = new Uint16Array(2 * values.length);
  return {
    id,
    width,
    height,
    pitchMm,
    swaths: [{ y0: 0, rows: height, color, relief }],
    complete: true,
    version: 1,
  };
}
