import type { Lab } from '../../base/color/lab.ts';
import { DEFAULT_APPLICATIONS, DEFAULT_TOP_COAT, DEFAULT_UNDERCOAT } from '../../piece/defaults.ts';
import type { Coat } from '../../piece/schema.ts';
import { coatAbsorptance } from './layers.ts';

/**
 * Paints to start from, in the maker's words. All of it is common practice, no published source, unless said otherwise; a card or a data
 * sheet replaces it. What a paint asks of the beam (threshold and specific energy for what is taken up) is the default coats', whose sources
 * stand there; only how much is taken up follows from the colour (`coatAbsorptance`).
 */
interface Paint {
  readonly label: string;
  /** Of the dry, hiding coat, mirror reflection included; values from memory but for the default pair. */
  readonly top: Partial<Coat> & Pick<Coat, 'name' | 'colorLab' | 'gloss60'>;
  readonly under: { readonly name: string; readonly colorLab: Lab; readonly scatteringPerMm: number };
}

/** Titanium white scatters more than a tinted cream does (estimate). */
const WHITE: Paint['under'] = { name: 'White primer', colorLab: [94, -0.5, 2.5], scatteringPerMm: 120 };

const CREAM: Paint['under'] = {
  name: 'Cream',
  colorLab: DEFAULT_UNDERCOAT.colorLab,
  scatteringPerMm: DEFAULT_UNDERCOAT.scatteringPerMm,
};

export const PAINTS = {
  'brown-cream': {
    label: 'Satin brown over cream',
    top: { name: 'Satin brown', colorLab: DEFAULT_TOP_COAT.colorLab, gloss60: DEFAULT_TOP_COAT.gloss60 },
    under: CREAM,
  },
  'black-white': {
    label: 'Satin black over white primer',
    top: { name: 'Satin black', colorLab: [26, 0, 0.3], gloss60: 25 },
    under: WHITE,
  },
  'matt-black-cream': {
    label: 'Matt black over cream',
    top: { name: 'Matt black', colorLab: [28, 0, 0.5], gloss60: 4 },
    under: CREAM,
  },
  'grey-white': {
    label: 'Dark grey over white primer',
    // Its white pigment scatters besides (estimate).
    top: { name: 'Dark grey', colorLab: [34, -0.3, -1.5], gloss60: 15, scatteringPerMm: 45 },
    under: WHITE,
  },
  'blue-cream': {
    label: 'Dark blue over cream',
    top: { name: 'Dark blue', colorLab: [29, 1, -10], gloss60: 25 },
    under: CREAM,
  },
  'green-cream': {
    label: 'Dark green over cream',
    top: { name: 'Dark green', colorLab: [30, -9, 5], gloss60: 25 },
    under: CREAM,
  },
} as const satisfies Readonly<Record<string, Paint>>;

export type PaintId = keyof typeof PAINTS;

export interface PaintJob {
  readonly paint: PaintId;
  readonly laid: 'sprayed' | 'brushed';
  /** How often the top coat's paint is applied. */
  readonly times: number;
}

export const FIRST_PAINT: PaintJob = { paint: 'brown-cream', laid: 'sprayed', times: 2 };

/** How often the top coat's paint may have been applied. */
export const TIMES = [1, 2, 3, 5] as const;

/** Dry film that one application leaves, µm: a light pass of a spray can, a full brush of acrylic. */
const ONCE_UM = { sprayed: DEFAULT_TOP_COAT.dryThicknessUm / DEFAULT_TOP_COAT.layers, brushed: 22 };

/** Applications that make a light undercoat hide dark wood. */
const UNDERCOATS = { sprayed: 4, brushed: 2 };

/** The coats of a paint job, topmost first, as a source of this wavelength finds them. */
export function paintStack({ paint, laid, times }: PaintJob, wavelengthNm: number): Coat[] {
  const { top, under }: Paint = PAINTS[paint];
  const coat = (base: Coat, own: Partial<Coat> & { readonly colorLab: Lab }, layers: number): Coat => {
    return {
      ...base,
      ...own,
      layers,
      dryThicknessUm: layers * ONCE_UM[laid],
      application: DEFAULT_APPLICATIONS[laid],
      absorptance: Math.round(1000 * coatAbsorptance(own.colorLab, wavelengthNm)) / 1000,
    };
  };
  return [coat(DEFAULT_TOP_COAT, top, times), coat(DEFAULT_UNDERCOAT, under, UNDERCOATS[laid])];
}

/** The paint job that coats were filled in by; null for coats with numbers of their own. */
export function paintJobOf(coats: readonly Coat[], wavelengthNm: number): PaintJob | null {
  const [top] = coats;
  if (!top || coats.length !== 2) return null;
  const text = JSON.stringify(coats.map(sorted));
  for (const paint of Object.keys(PAINTS) as PaintId[]) {
    for (const laid of ['sprayed', 'brushed'] as const) {
      const job = { paint, laid, times: top.layers };
      if (text === JSON.stringify(paintStack(job, wavelengthNm).map(sorted))) return job;
    }
  }
  return null;
}

/** With its fields in one order, as they may have come from a file. */
const sorted = (coat: Coat): [string, unknown][] => Object.entries(coat).sort(([a], [b]) => (a < b ? -1 : 1));
