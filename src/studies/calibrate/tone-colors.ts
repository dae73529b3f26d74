import { BAND_COUNT, BAND_START_NM, BAND_STEP_NM } from '../../base/color/cie-1931.ts';
import { type Spectrum, XYZ_WEIGHTS } from '../../base/color/spectrum.ts';
import { coatOptics, insideSpectrum } from '../../physics/material/coat-optics.ts';
import { filmReflectance, measuredReflectance } from '../../physics/material/kubelka-munk.ts';
import { charredWood, scorchAbsorption, scorchLevel } from '../../physics/material/scorch.ts';
import type { Piece } from '../../piece/schema.ts';

/** Steps over the square root of what is left of the top coat, and over the square root of the level of scorch. */
const LEFT_STEPS = 72;
const LEVEL_STEPS = 7;

/**
 * Colours of a top coat being burned, smooth in what is left and in the dose that has gone past it: the same optics as
 * `physics/material/appearance.ts` without its steps, so that a fit can follow slopes.
 */
export interface ToneColors {
  /** Adds XYZ (Y of white 1) of a state to `out`, weighted. */
  add(leftUm: number, excess: number, weight: number, out: Float64Array): void;
}

/** What was last worked out, by the numbers it depends on. */
const kept: { key: string; table: Float64Array }[] = [];
const MOST_KEPT = 24;

export function toneColors(piece: Piece): ToneColors {
  const { coats } = piece.stack;
  const { wood } = piece.slab;
  const under = coats[1] ?? wood;
  const fullUm = Math.max(1, 2 * coats[0].dryThicknessUm);
  const optical = coats.map(({ colorLab, scatteringPerMm }) => [colorLab, scatteringPerMm]);
  const below = coats.slice(1).map(({ dryThicknessUm }) => dryThicknessUm);
  const key = JSON.stringify([optical, below, fullUm, wood.colorLab, wood.lightnessLoss]);
  let entry = kept.find((one) => one.key === key);
  if (!entry) {
    entry = { key, table: tabulate(piece, fullUm) };
    kept.unshift(entry);
    kept.length = Math.min(kept.length, MOST_KEPT);
  }
  const { table } = entry;
  const { absorptance, scorchOnsetJPerMm2 } = under;
  return {
    add(leftUm, excess, weight, out) {
      const level = Math.sqrt(scorchLevel(absorptance * excess, scorchOnsetJPerMm2)) * (LEVEL_STEPS - 1);
      const place = Math.sqrt(Math.min(1, leftUm / fullUm)) * (LEFT_STEPS - 1);
      const i = Math.min(LEFT_STEPS - 2, Math.floor(place));
      const j = Math.min(LEVEL_STEPS - 2, Math.floor(level));
      const u = place - i;
      const v = level - j;
      const at = 3 * (j * LEFT_STEPS + i);
      const next = at + 3 * LEFT_STEPS;
      for (let k = 0; k < 3; k++) {
        const near = table[at + k] + (table[at + 3 + k] - table[at + k]) * u;
        const far = table[next + k] + (table[next + 3 + k] - table[next + k]) * u;
        out[k] += weight * (near + (far - near) * v);
      }
    },
  };
}

function tabulate(piece: Piece, fullUm: number): Float64Array {
  const { coats } = piece.stack;
  const { wood } = piece.slab;
  const optics = coats.map(opticsOf);
  const table = new Float64Array(3 * LEFT_STEPS * LEVEL_STEPS);
  for (let j = 0; j < LEVEL_STEPS; j++) {
    const level = (j / (LEVEL_STEPS - 1)) ** 2;
    let ground: Spectrum = insideKept(
      coats.length > 1 ? wood.colorLab : charredWood(wood.colorLab, level, wood.lightnessLoss),
    );
    for (let layer = coats.length - 1; layer >= 1; layer--) {
      const over = new Float64Array(BAND_COUNT);
      for (let band = 0; band < BAND_COUNT; band++) {
        const scorch = layer === 1 ? scorchAbsorption(level, BAND_START_NM + band * BAND_STEP_NM) : 0;
        const { absorption, scattering } = optics[layer];
        over[band] = filmReflectance(
          absorption[band] + scorch,
          scattering,
          coats[layer].dryThicknessUm / 1000,
          ground[band],
        );
      }
      ground = over;
    }
    const [top] = optics;
    for (let i = 0; i < LEFT_STEPS; i++) {
      const leftMm = (fullUm * (i / (LEFT_STEPS - 1)) ** 2) / 1000;
      const at = 3 * (j * LEFT_STEPS + i);
      for (let band = 0; band < BAND_COUNT; band++) {
        const measured = measuredReflectance(
          filmReflectance(top.absorption[band], top.scattering, leftMm, ground[band]),
        );
        for (let k = 0; k < 3; k++) table[at + k] += XYZ_WEIGHTS[k][band] * measured;
      }
    }
  }
  return table;
}

/** Finding a spectrum takes a millisecond, and colours stay the same through a fit. */
const spectra = new Map<string, Spectrum>();
function insideKept(lab: Parameters<typeof insideSpectrum>[0]): Spectrum {
  const key = lab.join(' ');
  let spectrum = spectra.get(key);
  if (!spectrum) {
    if (spectra.size > 200) spectra.clear();
    spectrum = insideSpectrum(lab);
    spectra.set(key, spectrum);
  }
  return spectrum;
}

const units = new Map<string, ReturnType<typeof coatOptics>>();
/** Absorption goes with the scattering: the colour where it hides is given. */
function opticsOf({ colorLab, scatteringPerMm }: Piece['stack']['coats'][number]): ReturnType<typeof coatOptics> {
  const key = colorLab.join(' ');
  let unit = units.get(key);
  if (!unit) {
    if (units.size > 200) units.clear();
    unit = coatOptics({ colorLab, scatteringPerMm: 1 });
    units.set(key, unit);
  }
  return { scattering: scatteringPerMm, absorption: unit.absorption.map((value) => value * scatteringPerMm) };
}
