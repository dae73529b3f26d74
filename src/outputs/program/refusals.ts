import { inchToMm, mmPerSToMmPerMin } from '../../base/units.ts';
import { slabPerimeter } from '../../physics/bed/bed.ts';
import { fullRunUpMm, LEAST_RUN_UP_MM } from '../../physics/raster/pass-raster.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import type { Control, Motion, Pass, PictureSettings, Piece, Placement } from '../../piece/schema.ts';
import { extraWordsFault } from './frame.ts';
import { type BedBox, createPowerWords, LEAST_SCALE, slabBox } from './pass-program.ts';

/** A position may be off by so much of a dot. */
const LEAST_PLACE_SHARE = 0.1;

const perMinute = (mmPerS: number): number => Math.round(10 * mmPerSToMmPerMin(mmPerS)) / 10;

const percent = (share: number): number => Math.round(1000 * share) / 10;

/** What no program can be written with, whatever the picture: the controller's settings, and the slab beyond the bed. */
export function controlRefusals(piece: Piece): JobRefusal[] {
  const { control } = piece.machine;
  const refusals: JobRefusal[] = [];
  if (!(control.powerScale >= LEAST_SCALE)) {
    refusals.push({
      message: `The power scale is ${control.powerScale}: powers could not be kept apart on it. The least that works is ${LEAST_SCALE}; your controller’s manual says what it takes as full power.`,
      remedy: { label: 'Set the power scale to 1000', control: { powerScale: 1000 } },
    });
  } else refusals.push(...stepRefusals(piece));
  for (const [name, words, empty] of [
    ['start', control.startWords, { startWords: '' }],
    ['end', control.endWords, { endWords: '' }],
  ] as const) {
    const fault = extraWordsFault(words);
    if (fault)
      refusals.push({
        message: `In the lines at the ${name}, ${fault}.`,
        remedy: { label: 'Leave them out', control: empty },
      });
  }
  if (control.zero === 'picture-centre' && control.park === 'bed-corner') {
    refusals.push({
      message:
        'Positions count from the picture’s middle, so where the bed’s corner is nobody knows: the head can park at the picture’s middle or stay where it ends.',
      remedy: { label: 'Park at the picture’s middle', control: { park: 'picture-centre' } },
    });
  }
  const outside = offBedRefusal({
    piece,
    box: slabBox(piece, slabPerimeter(piece.slab)),
    also: [],
    what: 'The slab',
    smaller: 'a smaller slab',
  });
  return outside ? [...refusals, outside] : refusals;
}

/** A scale so coarse that no step of it lies between where the source fires and the limit. */
function stepRefusals({ machine }: Piece): JobRefusal[] {
  const { control, source } = machine;
  const { least, most, decimals } = createPowerWords(machine);
  if (most >= least || control.powerLimit < source.firingFloor) return [];
  const powerLimit = least / (control.powerScale * 10 ** decimals);
  return [
    {
      message: `On a power scale of ${control.powerScale} no power lies between ${percent(source.firingFloor)} %, from which the source fires, and the limit of ${percent(control.powerLimit)} %. The nearest limit that works is ${percent(powerLimit)} %.`,
      remedy: powerLimit <= 1 ? { label: `Set the limit to ${percent(powerLimit)} %`, control: { powerLimit } } : null,
    },
  ];
}

/** What of a pass is too much for the machine, before anything is screened. */
export function passRefusals(piece: Piece, index: number): JobRefusal[] {
  const pass = piece.passes[index];
  const { motion, control } = piece.machine;
  const refusals: JobRefusal[] = [];
  const name = passName(piece, index);
  if (pass.feedMmPerS > motion.maxFeedMmPerS + 1e-9) {
    const most = perMinute(motion.maxFeedMmPerS);
    refusals.push({
      message: `${name} asks for a feed of ${perMinute(pass.feedMmPerS)} mm/min and the machine goes ${most} mm/min at most.`,
      remedy: { label: `Set the feed to ${most} mm/min`, pass: { index, part: { feedMmPerS: motion.maxFeedMmPerS } } },
    });
  }
  const { powerLimit } = control;
  const highest = Math.max(pass.lightEndPower, pass.darkEndPower);
  if (highest > powerLimit + 1e-9) {
    const part = {
      lightEndPower: Math.min(powerLimit, pass.lightEndPower),
      darkEndPower: Math.min(powerLimit, pass.darkEndPower),
    };
    refusals.push({
      message: `${name} sets ${percent(highest)} % of full power and the limit is ${percent(powerLimit)} %.`,
      remedy: { label: `Set its power to ${percent(powerLimit)} %`, pass: { index, part } },
    });
  }
  if (motion.runUpMm < LEAST_RUN_UP_MM) {
    const rampMm = fullRunUpMm(feedOf(pass, motion), motion.accelerationMmPerS2);
    const runUpMm = Math.min(500, Math.ceil(10 * Math.max(LEAST_RUN_UP_MM, rampMm)) / 10);
    refusals.push({
      message: `The run-up is ${motion.runUpMm} mm: the beam would be on while the head stands at the ends of the rows. The least that works is ${LEAST_RUN_UP_MM} mm; this feed takes ${runUpMm} mm.`,
      remedy: { label: `Set the run-up to ${runUpMm} mm`, motion: { runUpMm } },
    });
  }
  return [...refusals, ...decimalsRefusals(control, pass.rowPitchMm, `dots ${pass.rowPitchMm} mm apart`)];
}

function decimalsRefusals(control: Control, pitchMm: number, what: string): JobRefusal[] {
  const least = leastDecimals(control, pitchMm);
  if (control.decimals >= least) return [];
  return [
    {
      message: `With ${control.decimals} decimal ${control.decimals === 1 ? 'place' : 'places'} positions are too coarse for ${what}; it takes ${least}.`,
      remedy: { label: `Write ${least} decimal places`, control: { decimals: least } },
    },
  ];
}

/** Decimal places with which a position is right to a tenth of a dot, and no run-up is rounded away. */
export function leastDecimals({ units }: Pick<Control, 'units'>, pitchMm: number): number {
  const unitMm = units === 'inch' ? inchToMm(1) : 1;
  const stepMm = Math.min(2 * LEAST_PLACE_SHARE * pitchMm, LEAST_RUN_UP_MM / 2);
  return Math.min(6, Math.max(1, Math.ceil(Math.log10(unitMm / stepMm) - 1e-9)));
}

/** What is found once a pass is screened: nothing to burn, or travel beyond the bed. */
export function travelRefusals(piece: Piece, index: number, box: BedBox | null): JobRefusal[] {
  const pass = piece.passes[index];
  const name = passName(piece, index);
  if (!box) {
    const { firingFloor } = piece.machine.source;
    const highest = percent(Math.max(pass.lightEndPower, pass.darkEndPower));
    return [
      {
        message: `${name} burns nothing: no dot of it gets light (its highest power is ${highest} %, the source fires from ${percent(firingFloor)} %).`,
        remedy: null,
      },
    ];
  }
  const outside = offBedRefusal({
    piece,
    box,
    also: [slabBox(piece, slabPerimeter(piece.slab))],
    what: `With run-ups, ${piece.passes.length > 1 ? `pass ${index + 1}` : 'the pass'}`,
    smaller: 'a smaller picture',
  });
  return outside ? [outside] : [];
}

/** What a perimeter walk is refused for besides `controlRefusals`. */
export function walkRefusals(piece: Piece, box: BedBox, what: string): JobRefusal[] {
  const { pilotPower } = piece.placement;
  const { powerLimit } = piece.machine.control;
  const refusals = decimalsRefusals(piece.machine.control, Number.POSITIVE_INFINITY, 'the lap');
  if (pilotPower > powerLimit + 1e-9) {
    refusals.push({
      message: `The pilot power is ${percent(pilotPower)} % and the limit is ${percent(powerLimit)} %.`,
      remedy: { label: `Set it to ${percent(powerLimit)} %`, placement: { pilotPower: powerLimit } },
    });
  }
  const also = [slabBox(piece, slabPerimeter(piece.slab))];
  const outside = offBedRefusal({ piece, box, also, what, smaller: 'a smaller picture' });
  return outside ? [...refusals, outside] : refusals;
}

/** What the reference mark is refused for besides `controlRefusals` and the first pass's own. */
export function markRefusals(piece: Piece, box: BedBox): JobRefusal[] {
  const also = [slabBox(piece, slabPerimeter(piece.slab))];
  const what = 'With run-ups, the reference mark';
  const outside = offBedRefusal({ piece, box, also, what, smaller: 'a smaller picture' });
  return outside ? [outside] : [];
}

/** A row to take a burn up from that is none, or after which nothing is left to burn. `last`: of those that burn, counted from 1. */
export function fromRowRefusals(piece: Piece, index: number, fromRow: number, last: number): JobRefusal[] {
  if (Number.isInteger(fromRow) && fromRow >= 1 && fromRow <= last) return [];
  const message = `${passName(piece, index)} has nothing to burn from row ${fromRow} on: rows count from 1, and the last that burns is row ${last}.`;
  return [{ message, remedy: null }];
}

const passName = ({ passes }: Piece, index: number): string => (passes.length > 1 ? `Pass ${index + 1}` : 'The pass');

const SLACK_MM = 1e-6;

interface OffBed {
  readonly piece: Piece;
  readonly box: BedBox;
  /** Must stay on the bed as well if the slab is moved. */
  readonly also: readonly BedBox[];
  /** As in "The slab". */
  readonly what: string;
  /** What makes it smaller where the bed is too small for it, as in "a narrower picture". */
  readonly smaller: string;
}

/** Refuses what reaches beyond the bed, with the place of the slab where it would not, if there is one. */
function offBedRefusal({ piece, box, also, what, smaller }: OffBed): JobRefusal | null {
  const { bedWidthMm, bedHeightMm, xMm, yMm } = piece.placement;
  const beyond: [number, string][] = [
    [-box.left, 'left'],
    [box.right - bedWidthMm, 'right'],
    [-box.near, 'near'],
    [box.far - bedHeightMm, 'far'],
  ];
  const over = beyond.filter(([mm]) => mm > SLACK_MM);
  if (over.length === 0) return null;
  const where = over.map(([mm, edge]) => `${tenths(mm)} mm beyond the bed’s ${edge} edge`).join(' and ');
  const dx = shift(
    [box, ...also].map(({ left, right }) => [left, right]),
    bedWidthMm,
  );
  const dy = shift(
    [box, ...also].map(({ near, far }) => [near, far]),
    bedHeightMm,
  );
  if (dx === null || dy === null) {
    const needs = `${tenths(box.right - box.left)} × ${tenths(box.far - box.near)} mm`;
    const bed = `${tenths(bedWidthMm)} × ${tenths(bedHeightMm)} mm`;
    return {
      message: `${what} reaches ${where}. It takes ${needs} and the bed has ${bed}: it wants a larger bed, another turn or ${smaller}.`,
      remedy: null,
    };
  }
  const x = tidy(xMm + dx, dx);
  const y = tidy(yMm + dy, dy);
  return {
    message: `${what} reaches ${where}. The nearest place that works has the slab’s middle at ${x} mm from the left and ${y} mm from the front.`,
    remedy: { label: 'Move the slab there', placement: { xMm: x, yMm: y } },
  };
}

/** Smallest move that brings all stretches between 0 and `room`; null if there is none. */
function shift(stretches: readonly (readonly [number, number])[], room: number): number | null {
  const low = Math.max(...stretches.map(([from]) => -from));
  const high = Math.min(...stretches.map(([, to]) => room - to));
  if (low > high + SLACK_MM) return null;
  return low > 0 ? low : Math.min(high, 0);
}

/** In tenths of a millimetre, rounded in the direction of the move, so that it is enough. */
const tidy = (mm: number, moved: number): number => {
  if (moved === 0) return mm;
  return (moved > 0 ? Math.ceil(mm * 10 - 1e-6) : Math.floor(mm * 10 + 1e-6)) / 10;
};

const tenths = (mm: number): number => Math.ceil(mm * 10 - 1e-6) / 10;

/** A change that makes a refused job possible, as plain data, with what a button for it says. */
interface JobRemedy {
  readonly label: string;
  readonly control?: Partial<Control>;
  readonly motion?: Partial<Motion>;
  readonly placement?: Partial<Placement>;
  readonly picture?: Partial<PictureSettings>;
  readonly pass?: { readonly index: number; readonly part: Partial<Pass> };
}

/** Why there is no program: a sentence with the number that is wrong and the nearest that works, and the change to it where it is plain. */
export interface JobRefusal {
  readonly message: string;
  readonly remedy: JobRemedy | null;
}

/** Thrown where a program was asked for. */
export class JobRefused extends Error {
  readonly refusals: readonly JobRefusal[];

  constructor(refusals: readonly JobRefusal[]) {
    super(refusals.map(({ message }) => message).join(' '));
    this.name = 'JobRefused';
    this.refusals = refusals;
  }
}

export function remediedPiece(piece: Piece, { control, motion, placement, picture, pass }: JobRemedy): Piece {
  return {
    ...piece,
    machine: {
      ...piece.machine,
      control: { ...piece.machine.control, ...control },
      motion: { ...piece.machine.motion, ...motion },
    },
    placement: { ...piece.placement, ...placement },
    picture: { ...piece.picture, ...picture },
    passes: piece.passes.map((one, i) => (i === pass?.index ? { ...one, ...pass.part } : one)),
  };
}
