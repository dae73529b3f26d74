import type { Lab } from './lab.ts';

/** What lies beside a painted patch so that a photograph of it can be read. */
export interface PatchReference {
  readonly id: string;
  readonly label: string;
  readonly note: string;
  /** Its colour; null where the maker types its lightness. */
  readonly lab: Lab | null;
}

export const PATCH_REFERENCES = [
  // Value from memory; brighteners make some papers bluish by a few units of b*.
  { id: 'paper', label: 'White paper or card', note: 'Plain and matt, L* about 95.', lab: [95, 0, 0] },
  // BabelColor average of "white 9.5" under D65; see test/reference/paint-spectra.test.ts.
  { id: 'chart', label: 'White of a colour chart', note: 'The white patch, L* 96.5.', lab: [96.5, -0.9, 2.6] },
  // L* of Y = 0.18 by the formula of CIE 015.
  { id: 'grey', label: '18 % grey card', note: 'L* 49.5.', lab: [49.5, 0, 0] },
  { id: 'typed', label: 'Another neutral one', note: 'White or grey whose L* you know.', lab: null },
] as const satisfies readonly PatchReference[];

export type PatchReferenceId = (typeof PATCH_REFERENCES)[number]['id'];

/** Colour of a reference; `typedLightness` counts where the maker types it. */
export const referenceLab = (id: PatchReferenceId, typedLightness: number): Lab =>
  PATCH_REFERENCES.find((one) => one.id === id)?.lab ?? [typedLightness, 0, 0];
