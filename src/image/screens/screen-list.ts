import { SCREEN_METHODS, type ScreenMethod } from '../../piece/schema.ts';

export type ScreenKind = 'error diffusion' | 'ordered' | 'blue noise' | 'clustered dot' | 'continuous tone';

export interface ScreenInfo {
  readonly method: ScreenMethod;
  /** Published name of the method, with author and year. */
  readonly title: string;
  /** The title without year and book, for where there is little room. */
  readonly short: string;
  readonly kind: ScreenKind;
  /** Whether it heeds the choice of running every other row backwards. */
  readonly serpentine: boolean;
  /** What it does to the wood, in one line. */
  readonly note: string;
}

const ABOUT: Record<ScreenMethod, readonly [title: string, kind: ScreenKind, note: string]> = {
  'floyd-steinberg': [
    'Floyd–Steinberg (1976)',
    'error diffusion',
    'Finest detail and smooth tones; even light areas may show faint worm-like rows of dots.',
  ],
  'jarvis-judice-ninke': [
    'Jarvis, Judice and Ninke (1976)',
    'error diffusion',
    'Spreads each error wide: calm mid tones and crisper edges, a little coarser in highlights and shadows.',
  ],
  stucki: ['Stucki (1981)', 'error diffusion', 'Like Jarvis, Judice and Ninke with slightly sharper edges.'],
  burkes: ['Burkes (1988)', 'error diffusion', 'Between Floyd–Steinberg and Stucki: fairly fine, fairly calm.'],
  'sierra-3': [
    'Sierra, three rows (1989)',
    'error diffusion',
    'Calm tones without much sharpening; suits skin and sky.',
  ],
  'sierra-2': ['Sierra, two rows (1990)', 'error diffusion', 'Nearly as calm as three rows, a touch finer.'],
  'sierra-2-4a': [
    'Sierra, two rows, light (1990)',
    'error diffusion',
    'The smallest kernel: fine dots, more regular patterns in flat areas.',
  ],
  atkinson: [
    'Atkinson (1980s)',
    'error diffusion',
    'Drops a quarter of each error: strong contrast, clean highlights and shadows without dots.',
  ],
  'bayer-2': ['Bayer 2 × 2 (1973)', 'ordered', 'Five tones only, in a regular grid; for graphic pictures.'],
  'bayer-4': ['Bayer 4 × 4 (1973)', 'ordered', 'Seventeen tones in a visible regular grid.'],
  'bayer-8': ['Bayer 8 × 8 (1973)', 'ordered', 'Regular cross-hatched texture; every flat area burns evenly.'],
  'bayer-16': ['Bayer 16 × 16 (1973)', 'ordered', 'As 8 × 8 with finer steps of tone.'],
  'blue-noise': [
    'Void-and-cluster, Ulichney (1993)',
    'blue noise',
    'Even grain without worms or grids; each dot depends on its own tone only, so retouching stays local.',
  ],
  'clustered-dot': [
    'Clustered dot at 45°, Ulichney (1987)',
    'clustered dot',
    'Dots grow in groups like a newspaper screen: forgiving of a wide beam and of thick spots in the coat, less detail.',
  ],
  continuous: [
    'Continuous tone',
    'continuous tone',
    'Power follows lightness dot by dot: no grain, but each tone must be above the threshold of the coat to show.',
  ],
};

/** What there is to know about each screen, in the order in which they are offered. */
export const SCREENS: readonly ScreenInfo[] = SCREEN_METHODS.map((method) => {
  const [title, kind, note] = ABOUT[method];
  const short = title.replace(/(, Ulichney)? \(\d+s?\)$/, '');
  return { method, title, short, kind, note, serpentine: kind === 'error diffusion' };
});
