import { join } from 'node:path';
import { mmPerSToMmPerMin } from '../base/units.ts';
import { createCoarsePipeline } from '../burn/coarse.ts';
import { createProofPipeline } from '../burn/proof.ts';
import { createInlineRunner } from '../burn/runner.ts';
import type { Piece } from '../piece/schema.ts';
import { check, choose } from '../studies/choose/choose.ts';
import { EVEN_WISHES, WISHES, type Wishes } from '../studies/choose/odds.ts';
import {
  type ChooseResult,
  minutesOf,
  obstacleWords,
  type Suggestion,
  tonesOff,
  whyOf,
  withSettings,
} from '../studies/choose/settings.ts';
import { withDrawnFilm } from '../studies/sure/spread.ts';
import { type CliIo, type Command, createProgress } from './io.ts';
import { BURN_OPTIONS, type OpenedJob, openJob, PIECE_OPTION } from './open-job.ts';
import { type OptionValues, quantityOption } from './options.ts';
import type { Outputs } from './outputs.ts';
import { createCliRunner } from './runner.ts';

const WEIGHTS = ['quality', 'minutes', 'safety'] as const;

export const CHOOSE: Command = {
  name: 'choose',
  operands: '[PHOTO]',
  summary: 'Find settings of one pass that clear the light areas and scorch nothing: a handful of trade-offs.',
  options: [
    PIECE_OPTION,
    { name: 'quality', value: 'N', help: 'how much true tones and fine detail matter, 0–100 (default 50)' },
    { name: 'minutes', value: 'N', help: 'how much a short burn matters, 0–100 (default 50)' },
    { name: 'safety', value: 'N', help: 'how much a wide margin on both sides matters, 0–100 (default 50)' },
    { name: 'out', value: 'DIR', help: 'write each suggestion there as a piece.json of its own' },
    ...BURN_OPTIONS,
    { name: 'json', help: 'print everything as JSON' },
  ],
  async run(operands, values, io) {
    const wishes = wishesOf(values);
    const folder = values['out'] as string | undefined;
    const claim = async () => {
      if (folder !== undefined) await io.outputs.claimFolder(folder);
    };
    const { piece, photo } = await openJob('choose', operands, values, claim);
    const result = await suggest({ piece, photo }, wishes, io);
    if (folder !== undefined) await writePieces(io.outputs, folder, piece, result);
    io.out(values['json'] ? `${JSON.stringify({ wishes, ...result }, null, 2)}\n` : text(piece, result, folder));
  },
};

/** Settings for a piece, checked by proofs. */
export async function suggest(
  { piece, photo }: Pick<OpenedJob, 'piece' | 'photo'>,
  wishes: Wishes,
  io: CliIo,
): Promise<ChooseResult> {
  const progress = createProgress(io);
  const small = createInlineRunner();
  const large = createCliRunner();
  const hooks = { onProgress: progress.show };
  try {
    const { scene } = createCoarsePipeline();
    const appearance = createProofPipeline().appearance(piece);
    const found = await choose(
      { piece, scene: scene(withDrawnFilm(piece, 0), photo), appearance, wishes },
      small,
      hooks,
    );
    return await check({ piece, photo, scene: scene(piece, photo) }, found, large, hooks);
  } finally {
    progress.clear();
    small.dispose();
    large.dispose();
  }
}

const wishesOf = (values: OptionValues): Wishes => ({
  ...EVEN_WISHES,
  ...Object.fromEntries(
    WEIGHTS.filter((name) => values[name] !== undefined).map((name) => [
      name,
      quantityOption(`--${name}`, values[name] as string, WISHES[name]),
    ]),
  ),
});

async function writePieces(
  outputs: Outputs,
  folder: string,
  piece: Piece,
  { suggestions, nearest }: ChooseResult,
): Promise<void> {
  for (const { id, pass, curve } of nearest ? [nearest] : suggestions) {
    await outputs.write(fileOf(folder, id), `${JSON.stringify(withSettings(piece, pass, curve), null, 2)}\n`);
  }
}

/** Suggestions keep their names where others have gone. */
const fileOf = (folder: string, id: string) => join(folder, `${id}.json`);

const percent = (share: number) => `${(100 * share).toFixed(1)} %`;

function text(piece: Piece, { suggestions, obstacle, nearest }: ChooseResult, folder: string | undefined): string {
  const lines = obstacle ? [`Nothing works: ${obstacleWords(obstacle, piece)}`] : [];
  const written = ({ id }: Suggestion) => (folder === undefined ? [] : [`  Written to ${fileOf(folder, id)}.`]);
  if (nearest) lines.push('What comes nearest:', ...describe(nearest, false), ...written(nearest));
  for (const suggestion of suggestions) lines.push(...describe(suggestion, true), ...written(suggestion));
  return `${lines.join('\n')}\n`;
}

function describe(suggestion: Suggestion, why: boolean): string[] {
  const { pass, outcome, odds, checked } = suggestion;
  const uncleared = checked ? checked.unclearedShare : outcome.unclearedShare;
  const settings = [
    `light end ${+(100 * pass.lightEndPower).toFixed(1)} %`,
    `dark end ${+(100 * pass.darkEndPower).toFixed(1)} %`,
    `${Math.round(mmPerSToMmPerMin(pass.feedMmPerS))} mm/min`,
    `rows ${pass.rowPitchMm} mm apart`,
    pass.screen,
    ...(pass.focusOffsetMm !== 0 ? [`focus off by ${pass.focusOffsetMm} mm`] : []),
  ];
  const facts = [
    ...(uncleared === null ? [] : [`${percent(uncleared)} left dark`]),
    `${percent(checked?.scorchedShare ?? outcome.scorchedShare)} scorched`,
    `tones ${tonesOff(suggestion)}`,
    ...(odds && odds.clears !== null ? [`clears in ${Math.round(100 * odds.clears)} of 100`] : []),
    ...(odds ? [`unscorched in ${Math.round(100 * odds.unscorched)} of 100`] : []),
  ];
  return [
    `${Math.round(minutesOf(suggestion))} min: ${settings.join(', ')}`,
    `  ${facts.join(', ')}.`,
    ...(why ? [`  ${whyOf(suggestion)}`] : []),
  ];
}
