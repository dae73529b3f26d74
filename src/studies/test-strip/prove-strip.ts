import { fromHalfFloat } from '../../base/half-float.ts';
import { CLEARED_RESIDUE_UM, LIGHT_AREA_LIGHTNESS, SCORCHED_LEVEL } from '../../burn/clearing.ts';
import type { ProofHooks, ProofPipeline } from '../../burn/proof.ts';
import type { StripRunner } from '../../burn/runner.ts';
import type { StripResult } from '../../burn/strip-task.ts';
import { burnsAtLightEnd } from '../../burn/windows.ts';
import type { TestStrip } from './make-strip.ts';
import type { LaidBand } from './strip-layout.ts';

/** What a band will come out as. Shares 0–1. */
export interface BandProof {
  readonly band: LaidBand;
  /** Of its light dots (see `ProofSummary`); null if its part of the picture has none. */
  readonly uncleared: number | null;
  readonly residueUm: number | null;
  readonly scorched: number;
}

export interface StripProof {
  readonly bands: readonly BandProof[];
  readonly burnTimeS: number;
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** RGBA8, sRGB. */
  readonly color: Uint8Array;
}

/** Burns a strip through the whole pipeline and tells its bands apart. @throws Cancelled if told to stop. */
export async function proveStrip(
  { piece, picture, layout }: TestStrip,
  pipeline: ProofPipeline,
  runner: StripRunner,
  hooks: ProofHooks = {},
  photoKey = 'strip',
): Promise<StripProof> {
  const strips: StripResult[] = [];
  const proof = await pipeline.proof(
    {
      piece,
      photo: { key: photoKey, picture, castless: null },
      collect: { surface: true, fields: true, painted: false },
    },
    runner,
    { ...hooks, onStrip: (strip) => strips.push(strip) },
  );
  const { width, height, pitchMm } = proof.grid;
  const color = new Uint8Array(4 * width * height);
  const sums = layout.bands.map(() => ({ cells: 0, scorched: 0, light: 0, uncleared: 0, residueUm: 0 }));
  for (const strip of strips) {
    color.set(strip.color as Uint8Array, 4 * strip.y0 * width);
    const residue = strip.fields?.residueUm[0];
    for (let y = 0; y < strip.rows; y++) {
      const yMm = (strip.y0 + y + 0.5) * pitchMm;
      const at = layout.bands.findIndex(({ box }) => yMm >= box.yMm && yMm < box.yMm + box.heightMm);
      if (at < 0) continue;
      const { box } = layout.bands[at];
      for (
        let x = Math.round(box.xMm / pitchMm);
        x < Math.min(width, Math.round((box.xMm + box.widthMm) / pitchMm));
        x++
      ) {
        const cell = y * width + x;
        sums[at].cells++;
        if (fromHalfFloat((strip.relief as Uint16Array)[2 * cell + 1]) >= SCORCHED_LEVEL) sums[at].scorched++;
        const light = proof.tone.lightness[(strip.y0 + y) * width + x] >= LIGHT_AREA_LIGHTNESS;
        if (!light || !burnsAtLightEnd(proof.screened, proof.grid, x, strip.y0 + y)) continue;
        sums[at].light++;
        sums[at].residueUm += residue?.[cell] ?? 0;
        if ((residue?.[cell] ?? 0) > CLEARED_RESIDUE_UM) sums[at].uncleared++;
      }
    }
  }
  const bands = layout.bands.map((band, i) => {
    const { cells, scorched, light, uncleared, residueUm } = sums[i];
    return {
      band,
      uncleared: light > 0 ? uncleared / light : null,
      residueUm: light > 0 ? residueUm / light : null,
      scorched: cells > 0 ? scorched / cells : 0,
    };
  });
  return { bands, burnTimeS: proof.summary.burnTimeS, width, height, pitchMm, color };
}
