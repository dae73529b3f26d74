import {
  degToRad,
  hzToKhz,
  inchToMm,
  khzToHz,
  mmPerMinToMmPerS,
  mmPerSToMmPerMin,
  mmToInch,
  percentToRatio,
  radToDeg,
  ratioToPercent,
  sToUs,
  usToS,
} from './units.ts';

/** What a number is shown in; those of `SCALES` are kept in another unit than they are shown in. */
type ShownUnit =
  | keyof typeof SCALES
  | ''
  | '×'
  | 'of 100'
  | 'mm'
  | 'µm'
  | 'mm/s²'
  | 's'
  | 'min'
  | 'days'
  | 'W'
  | 'nm'
  | 'GU'
  | 'EV'
  | 'L*'
  | 'ΔE'
  | 'mL'
  | '1/mm'
  | 'Pa·s'
  | 'J/mm²'
  | 'J/mm³'
  | 'kg/m³'
  /** Money, in whichever currency. */
  | '¤';

/** How a number is shown to be set. Step, decimal places and slider are in the unit that it is shown in. */
export interface Showing {
  readonly label: string;
  readonly unit: ShownUnit;
  readonly step: number;
  readonly digits: number;
  /** Part of the range that a slider covers, where it is not all of it. */
  readonly sliderLow?: number;
  readonly sliderHigh?: number;
}

/** A number that a person sets: what it may be, as it is kept, and how it is shown. */
export interface Quantity extends Showing {
  readonly low: number;
  readonly high: number;
  readonly whole: boolean;
}

export const quantity = (low: number, high: number, showing: Showing): Quantity => ({
  low,
  high,
  whole: false,
  ...showing,
});

export const wholeQuantity = (low: number, high: number, showing: Showing): Quantity => ({
  ...quantity(low, high, showing),
  whole: true,
});

export type LengthUnit = 'mm' | 'inch';

/** A quantity in one unit: its limits, and the way there and back. */
export interface ShownQuantity {
  readonly unit: string;
  readonly low: number;
  readonly high: number;
  readonly sliderLow: number;
  readonly sliderHigh: number;
  readonly step: number;
  readonly digits: number;
  show(kept: number): number;
  /** Within the range, also where there and back is not the same to the last bit. */
  keep(shown: number): number;
}

interface Scale {
  readonly show: (kept: number) => number;
  readonly keep: (shown: number) => number;
}

const SAME: Scale = { show: (kept) => kept, keep: (shown) => shown };

const PERCENT: Scale = { show: ratioToPercent, keep: percentToRatio };

const SCALES = {
  '%': PERCENT,
  '± %': PERCENT,
  '°': { show: radToDeg, keep: degToRad },
  'mm/min': { show: mmPerSToMmPerMin, keep: mmPerMinToMmPerS },
  µs: { show: sToUs, keep: usToS },
  kHz: { show: hzToKhz, keep: khzToHz },
} as const;

/** Steps and decimal places for makers who measure in inches. */
const IN_INCHES: {
  readonly [unit: string]: (quantity: Quantity) => Pick<Showing, 'step' | 'digits'> & { unit: string };
} = {
  mm: ({ digits }) => ({ unit: 'in', digits: digits + 1, step: 10 ** -(digits + 1) }),
  'mm/min': ({ digits, step }) => ({ unit: 'in/min', digits, step: step / 20 }),
};

/** How a quantity is shown to a maker who measures in mm, or in inches. */
export function shownIn(quantity: Quantity, lengths: LengthUnit = 'mm'): ShownQuantity {
  const { low, high, whole } = quantity;
  const scale: Scale = quantity.unit in SCALES ? SCALES[quantity.unit as keyof typeof SCALES] : SAME;
  const inInches = lengths === 'inch' ? IN_INCHES[quantity.unit]?.(quantity) : undefined;
  const toMaker = inInches ? mmToInch : SAME.show;
  const fromMaker = inInches ? inchToMm : SAME.keep;
  const show = (kept: number): number => toMaker(scale.show(kept));
  return {
    unit: quantity.unit,
    step: quantity.step,
    digits: quantity.digits,
    ...inInches,
    low: show(low),
    high: show(high),
    sliderLow: quantity.sliderLow === undefined ? show(low) : toMaker(quantity.sliderLow),
    sliderHigh: quantity.sliderHigh === undefined ? show(high) : toMaker(quantity.sliderHigh),
    show,
    keep: (shown) => {
      const kept = scale.keep(fromMaker(shown));
      return Math.min(high, Math.max(low, whole ? Math.round(kept) : kept));
    },
  };
}
