import type { Point } from '../base/geometry/outline.ts';
import { createCoarsePipeline } from '../burn/coarse.ts';
import { createProofPipeline } from '../burn/proof.ts';
import { registrationSteps } from '../physics/bed/bed.ts';
import {
  MAKER_WORDS,
  proposeRescue,
  RESCUE_DEFAULTS,
  RESCUE_EFFORT,
  RESCUE_ODDS,
  type RescueEffort,
  type RescueProposal,
  type RescueWishes,
} from '../studies/rescue/propose.ts';
import { type BurnedReading, findCorners, readBurned } from '../studies/rescue/read-burned.ts';
import { type RescueTools, rescueTools } from '../studies/rescue/rescue-scene.ts';
import { tellRescue } from '../studies/rescue/tell.ts';
import { type CliIo, type Command, createProgress } from './io.ts';
import { BURN_OPTIONS, type OpenedJob, openJob, PIECE_OPTION } from './open-job.ts';
import { CliError, numberOption, type OptionValues, quantityOption, UsageError } from './options.ts';
import { pieceBytes } from './outputs.ts';
import { readRgba } from './read-files.ts';
import { createCliRunner } from './runner.ts';

export const RESCUE: Command = {
  name: 'rescue',
  operands: '[PHOTO]',
  beam: true,
  summary: 'Propose the pass that saves a piece which came out too dark: powers, a ladder to try, what it changes.',
  options: [
    PIECE_OPTION,
    { name: 'words', value: 'NAME', help: `how it came out: ${MAKER_WORDS.join(', ')} (default: as its proof says)` },
    {
      name: 'photo-of-piece',
      value: 'FILE',
      reads: true,
      help: 'a photograph of it as it came out, instead of --words',
    },
    {
      name: 'corners',
      value: 'X,Y,…',
      help: 'where the corners of the box round the slab lie in it, pixels: left top, then clockwise (default: found)',
    },
    { name: 'odds', value: 'PCT', help: 'how surely the light areas are to clear (default 90)' },
    { name: 'open-darks', help: 'open the dark areas visibly instead of leaving them alone' },
    { name: 'only-where', help: 'burn only where residue is to be expected' },
    { name: 'grow', value: 'MM', help: 'how far around that (default 3)' },
    { name: 'tries', value: 'N', help: 'paints and beams to try (default 96)' },
    { name: 'out', value: 'FILE', help: 'write the piece with the pass added, a .foreburn file' },
    ...BURN_OPTIONS,
    { name: 'json', help: 'print the proposal as JSON' },
  ],
  async run(operands, values, io) {
    const wishes = wishesOf(values);
    const effort = effortOf(values);
    const out = values['out'] as string | undefined;
    const claim = async () => {
      if (out !== undefined) await io.outputs.claim(out);
    };
    const job = await openJob('rescue', operands, values, claim);
    const seen = burnedOptions(values);
    const reading = seen && (await readPhotograph(job, seen, io));
    const proposal = await propose({ ...job, piece: reading?.piece ?? job.piece }, wishes, effort, io);
    if (out && proposal.plan) await io.outputs.write(out, await pieceBytes(proposal.plan.piece, job, operands[0]));
    if (values['json'])
      io.out(`${JSON.stringify({ ...asJson(proposal, wishes), photograph: told(reading) }, null, 2)}\n`);
    else io.out(photoText(reading) + rescueText(job, proposal, wishes, proposal.plan ? out : undefined));
  },
};

function wishesOf(values: OptionValues): RescueWishes {
  const words = values['words'] as string | undefined;
  const known = MAKER_WORDS.find((name) => name === words) ?? null;
  if (words !== undefined && !known) {
    throw new UsageError(`--words: must be one of ${MAKER_WORDS.join(', ')}, got "${words}"`);
  }
  const odds = values['odds'] as string | undefined;
  const grow = values['grow'] as string | undefined;
  return {
    words: known,
    odds: odds === undefined ? RESCUE_DEFAULTS.odds : quantityOption('--odds', odds, RESCUE_ODDS),
    darks: values['open-darks'] ? 'open' : 'leave',
    onlyWhere: values['only-where'] === true,
    growMm: grow === undefined ? RESCUE_DEFAULTS.growMm : numberOption('--grow', grow, 0, 50),
  };
}

interface BurnedOptions {
  readonly path: string;
  /** Null: to be found. */
  readonly corners: Point[] | null;
}

/** Null unless a photograph of the piece is given. */
function burnedOptions(values: OptionValues): BurnedOptions | null {
  const path = values['photo-of-piece'] as string | undefined;
  if (path === undefined) return null;
  if (values['words'] !== undefined) throw new UsageError('rescue: give --words or --photo-of-piece, not both');
  const text = values['corners'] as string | undefined;
  if (text === undefined) return { path, corners: null };
  const numbers = text.split(',').filter((part) => part.trim() !== '');
  if (numbers.length !== 8) throw new UsageError('--corners: must be eight numbers x,y,x,y,x,y,x,y in pixels');
  const at = numbers.map((part) => numberOption('--corners', part, -100000, 100000));
  const corners = [0, 2, 4, 6].map((i): Point => [at[i], at[i + 1]]);
  return { path, corners };
}

async function readPhotograph(
  { piece, photo }: OpenedJob,
  { path, corners }: BurnedOptions,
  io: CliIo,
): Promise<BurnedReading> {
  const shown = await readRgba(path);
  return searching(io, async (tools, onProgress) => {
    const found = corners ?? (await findCorners(piece, photo, shown, tools))?.corners;
    if (!found) throw new CliError(`${path}: the slab was not recognised in it; say where it lies with --corners`);
    return readBurned(piece, photo, { photo: shown, corners: found }, tools, onProgress);
  });
}

/** Without the piece, which the plan holds. */
function told(reading: BurnedReading | null): object | null {
  if (!reading) return null;
  const { piece: _, seenL: _seen, modelL: _model, columns: _columns, ...rest } = reading;
  return rest;
}

function photoText(reading: BurnedReading | null): string {
  if (!reading) return '';
  const { agrees, tiles, missBefore, missAfter } = reading;
  return agrees
    ? `The photograph was compared at ${tiles} places: the model is now off by ${missAfter.toFixed(1)} L* on average, ${missBefore.toFixed(1)} before.\n\n`
    : `Nothing that these coats, this machine and these passes are likely to give looks like that photograph (the nearest is off by ${missAfter.toFixed(1)} L*): it was left aside. Check corners, light and settings.\n\n`;
}

const effortOf = (values: OptionValues): RescueEffort => ({
  ...RESCUE_EFFORT,
  ...(values['tries'] !== undefined && {
    draws: Math.round(numberOption('--tries', values['tries'] as string, 8, 1000)),
  }),
});

const propose = (
  { piece, photo }: OpenedJob,
  wishes: RescueWishes,
  effort: RescueEffort,
  io: CliIo,
): Promise<RescueProposal> =>
  searching(io, (tools, onProgress) => proposeRescue(piece, photo, tools, wishes, onProgress, effort));

/** Runs a search with its tools and shows how far it is. */
async function searching<Found>(
  io: CliIo,
  search: (tools: RescueTools, onProgress: (share: number) => void) => Promise<Found>,
): Promise<Found> {
  const progress = createProgress(io);
  const runner = createCliRunner();
  try {
    return await search(rescueTools(createProofPipeline(), createCoarsePipeline(), runner), (share) =>
      progress.show(share, 'rescue'),
    );
  } catch (error) {
    if (error instanceof RangeError) throw new CliError(error.message);
    throw error;
  } finally {
    progress.clear();
    runner.dispose();
  }
}

/** Without the map, which is a picture. */
function asJson(proposal: RescueProposal, wishes: RescueWishes): object {
  if (!proposal.plan) return { ...proposal, wishes, sentences: tellRescue(proposal, wishes) };
  const { map: _, ...plan } = proposal.plan;
  return {
    ...proposal,
    plan,
    wishes,
    sentences: tellRescue(proposal, wishes),
    registration: registrationSteps(plan.piece),
  };
}

function rescueText(job: OpenedJob, proposal: RescueProposal, wishes: RescueWishes, out: string | undefined): string {
  const { plan } = proposal;
  const lines = tellRescue(proposal, wishes);
  if (plan) {
    lines.push('', 'Try these on an edge of the picture first, from the top:');
    for (const { power, words } of plan.ladder) {
      lines.push(`  ${`${Number((100 * power).toFixed(2))} %`.padStart(7)}  ${words}`);
    }
    lines.push('', 'So that it falls on the pass before:');
    registrationSteps(job.piece).forEach((step, i) => {
      lines.push(`  ${i + 1}. ${step}`);
    });
    if (out) lines.push('', `Written to ${out}.`);
  }
  return `${lines.join('\n')}\n`;
}
