import { createGenerator } from '../../src/base/random/generator.ts';
import type { Photo } from '../../src/burn/prepare.ts';
import type { MachineFile } from '../../src/outputs/program/machine-file.ts';
import { type OpenedFile, openMachineFile } from '../../src/outputs/program/machine-files.ts';
import { type JobRefusal, JobRefused, remediedPiece } from '../../src/outputs/program/refusals.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { type Piece, SCREEN_METHODS } from '../../src/piece/schema.ts';
import type { Orders } from './gcode-judge.ts';

export interface RandomJob {
  readonly piece: Piece;
  readonly photo: Photo;
  readonly file: MachineFile;
}

/** Names that have been, or may be, trouble: brackets, newlines, words, signs that act, other alphabets, very long ones. */
const NAMES = [
  '',
  'Hollin Reach',
  'A) M3 S1000 (',
  'stop! ~hold? $H %',
  'M3\nS900\r\nG1 X400',
  'näht — Fähre №5 🔥',
  '((((',
  '))))',
  'MSG, hello',
  '\u2028M3 S500\u2029',
  'x'.repeat(200),
  `${'long name '.repeat(19)}end`,
];
/** Lines of the maker's own, some of which must be refused. */
const OWN_LINES = [
  '',
  '',
  '',
  'M8',
  'M8\nG4 P0.5',
  'm08; g 4 p1 | M0',
  'G64',
  'M48',
  '(air on',
  'M8 (air)',
  'G4\u2028P1',
  'G4\u2029P1',
  'G4\u200aP1',
  'M8\u3000',
  'G91',
  'G20',
  'S500',
  'M3',
  'G0 X10',
  'M8 ! ~',
  `G4 P${'1'.repeat(100)}`,
];

/** A job with settings drawn at random over everything that a program depends on. Many are refused as they are. */
export function randomMachineJob(seed: number): RandomJob {
  const random = createGenerator(seed);
  const unit = () => random.nextUnit();
  const between = (low: number, high: number) => low + (high - low) * unit();
  /** Evenly over orders of magnitude. */
  const spread = (low: number, high: number) => low * (high / low) ** unit();
  const pick = <Value>(values: readonly Value[]): Value => values[Math.floor(values.length * unit())];
  const base = createPiece(pick(NAMES), 'photo.png');
  const bedMm = 300;
  const slabMm = between(20, 120);
  const outline = polygon(slabMm / 2, unit);
  const units = pick(['mm', 'inch'] as const);
  const pitchMm = pick([0.05, 0.085, 0.1, 0.2, 0.5, 1]);
  const pass = {
    ...base.passes[0],
    feedMmPerS: unit() < 0.2 ? spread(0.1, 10) : between(10, 200),
    rowPitchMm: pitchMm,
    headingRad: pick([0, Math.PI / 2, Math.PI, 1.5 * Math.PI, between(0, 6.28)]),
    rows: pick(['one-way', 'two-way'] as const),
    rowOffsetErrorMm: pick([0, between(-1, 1)]),
    lightEndPower: between(0, 1),
    darkEndPower: pick([0, 0, 0.01, 0.08, 0.3]),
    screen: pick([...SCREEN_METHODS, 'continuous', 'continuous'] as const),
  };
  const piece: Piece = {
    ...base,
    slab: {
      ...base.slab,
      shape: pick(['oval', 'rectangle', 'outline']),
      widthMm: slabMm,
      heightMm: slabMm,
      outlineMm: outline,
      knots: [],
      checks: [],
      maskedRimMm: 0,
    },
    picture: {
      ...base.picture,
      widthMm: pitchMm * between(2, 24),
      crop: pick(['rectangle', 'oval']),
      offsetXMm: between(-5, 5),
      offsetYMm: between(-5, 5),
      rotationRad: pick([0, 0, between(-3, 3)]),
    },
    placement: {
      ...base.placement,
      bedWidthMm: bedMm,
      bedHeightMm: bedMm,
      xMm: between(0, bedMm),
      yMm: between(0, bedMm),
      turnRad: pick([0, between(-3, 3)]),
      pilotPower: pick([0, between(0, 0.1)]),
      referenceMark: true,
    },
    machine: {
      ...base.machine,
      source: { ...base.machine.source, firingFloor: pick([0, 0.02, 0.3]) },
      motion: {
        ...base.machine.motion,
        maxFeedMmPerS: pick([200, between(5, 400)]),
        accelerationMmPerS2: spread(200, 100000),
        runUpMm: pick([0, 0.0001, 0.02, 0.2, 0.3, 1, 5, 5, 20]),
      },
      control: {
        ...base.machine.control,
        powerScale: pick([0, 1e-7, 0.4, 1, 10, 100, 255, 1000, 4095.5, 65535, 1000000]),
        units,
        decimals: 1 + Math.floor(6 * unit()),
        beam: pick(['holds-power', 'follows-speed'] as const),
        powerLimit: pick([1, 1, between(0, 1)]),
        powerAtRest: unit() < 0.5,
        zero: pick(['bed-corner', 'picture-centre'] as const),
        park: pick(['picture-centre', 'bed-corner', 'stay'] as const),
        startWords: pick(OWN_LINES),
        endWords: pick(OWN_LINES),
        correctRowOffset: unit() < 0.7,
      },
    },
    passes: [pass],
  };
  const [width, height] = [12 + Math.floor(20 * unit()), 8 + Math.floor(14 * unit())];
  const kind = pick(['plain', 'noise', 'ends'] as const);
  const luminance = Float32Array.from({ length: width * height }, (_, i) => {
    if (kind === 'plain') return (i % width) / width;
    if (kind === 'ends') return i % width < 2 || i % width > width - 3 ? 1 : 0;
    return unit() < 0.5 ? 0 : unit();
  });
  const file = pick<MachineFile>([
    { kind: 'pass', index: 0 },
    { kind: 'pass', index: 0 },
    { kind: 'pass', index: 0 },
    { kind: 'walk', path: 'slab' },
    { kind: 'walk', path: 'picture' },
    { kind: 'walk', path: 'mark' },
    { kind: 'mark' },
  ]);
  return {
    piece,
    photo: { key: `job ${seed}`, picture: { width, height, luminance, alpha: null }, castless: null },
    file,
  };
}

/** A star of corners, each of them once, twice or three times, as outlines drawn by hand are. */
function polygon(radiusMm: number, unit: () => number): [number, number][] {
  const count = 3 + Math.floor(20 * unit());
  return Array.from({ length: count }, (_, i): [number, number][] => {
    const turn = (2 * Math.PI * i) / count;
    const r = radiusMm * (0.5 + 0.5 * unit());
    return Array.from({ length: 1 + Math.floor(3 * unit() * unit()) }, () => [r * Math.cos(turn), r * Math.sin(turn)]);
  }).flat();
}

/** Opens a job, taking what each refusal offers until there is nothing to refuse; null where there is no way. */
export async function openMended({
  piece,
  photo,
  file,
}: RandomJob): Promise<{ opened: OpenedFile; piece: Piece } | null> {
  let now = piece;
  for (let tries = 0; tries < 8; tries++) {
    try {
      return { opened: await openMachineFile(file, now, photo), piece: now };
    } catch (error) {
      if (!(error instanceof JobRefused)) throw error;
      const remedies = error.refusals.flatMap(({ remedy }: JobRefusal) => remedy ?? []);
      if (remedies.length === 0) return null;
      now = remedies.reduce(remediedPiece, now);
    }
  }
  throw new Error('remedies that do not help');
}

export function textOf({ parts }: Pick<OpenedFile, 'parts'>): string {
  return [...parts].map(({ bytes }) => String.fromCharCode(...bytes)).join('');
}

/** What the piece says of its program, worked out by hand. */
export function ordersOf({ placement, picture, machine, passes }: Piece, file: MachineFile): Orders {
  const { control, motion } = machine;
  const [right, away] = [picture.offsetXMm, -picture.offsetYMm];
  const { xMm, yMm, turnRad } = placement;
  const centre = [
    xMm + right * Math.cos(turnRad) - away * Math.sin(turnRad),
    yMm + right * Math.sin(turnRad) + away * Math.cos(turnRad),
  ] as const;
  const walks = file.kind === 'walk';
  return {
    kind: file.kind as Orders['kind'],
    bed: [placement.bedWidthMm, placement.bedHeightMm],
    start: control.zero === 'picture-centre' ? centre : [0, 0],
    mostS: control.powerLimit * control.powerScale,
    feedMmPerS: Math.min(walks ? 50 : passes[0].feedMmPerS, motion.maxFeedMmPerS),
    stepMm: (control.units === 'inch' ? 25.4 : 1) / 10 ** control.decimals,
    light: !walks || (placement.pilotPower > 0 && placement.pilotPower >= machine.source.firingFloor),
  };
}
