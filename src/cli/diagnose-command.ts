import { createCoarsePipeline } from '../burn/coarse.ts';
import { createProofPipeline, type Proof, type ProofHooks } from '../burn/proof.ts';
import type { SwathRunner } from '../burn/runner.ts';
import { DIAGNOSE_DEFAULTS, type Diagnosis, diagnose } from '../studies/diagnose/diagnose.ts';
import { type Finding, SHOWS, SPOILS } from '../studies/diagnose/finding.ts';
import { createProofTally, type ProofTally } from '../studies/diagnose/tally.ts';
import { JUDGE_DRAWS, type Judged, judged } from '../studies/sure/judge.ts';
import { type CliIo, type Command, createProgress } from './io.ts';
import { BURN_OPTIONS, type OpenedJob, openJob, PIECE_OPTION } from './open-job.ts';
import { createCliRunner } from './runner.ts';

export const DIAGNOSE: Command = {
  name: 'diagnose',
  operands: '[PHOTO]',
  summary: 'Say what will go wrong with a burn, worst first, where to look and what to change.',
  options: [PIECE_OPTION, ...BURN_OPTIONS, { name: 'json', help: 'print findings, tone chart and figures as JSON' }],
  async run(operands, values, io) {
    const job = await openJob('diagnose', operands, values);
    const diagnosis = await diagnoseJob(job, io);
    if (values['json']) io.out(`${JSON.stringify({ ...diagnosis, settings: job.piece }, null, 2)}\n`);
    else io.out(diagnosisText(diagnosis));
  },
};

async function diagnoseJob(job: OpenedJob, io: CliIo): Promise<Diagnosis & { tookMs: number }> {
  const progress = createProgress(io);
  const runner = createCliRunner();
  try {
    const { diagnosis, tookMs } = await proofAndDiagnosis(job, runner, { onProgress: progress.show, now: io.now });
    return { ...diagnosis, tookMs };
  } finally {
    progress.clear();
    runner.dispose();
  }
}

interface Diagnosed {
  readonly proof: Proof;
  readonly said: Judged;
  readonly diagnosis: Diagnosis;
  /** Of judging and diagnosing alone. */
  readonly tookMs: number;
}

/** A proof and what will go wrong with it. Swaths are handed on as they come, and none is kept. */
export async function proofAndDiagnosis(
  { piece, photo }: Pick<OpenedJob, 'piece' | 'photo'>,
  runner: SwathRunner,
  hooks: Pick<ProofHooks, 'onGrid' | 'onSwath' | 'onProgress'> & { readonly now: () => number },
): Promise<Diagnosed> {
  let tally: ProofTally | null = null;
  const collect = { surface: true, fields: true, painted: false };
  const proof = await createProofPipeline({ once: true }).proof({ piece, photo, collect }, runner, {
    ...hooks,
    onTone: (tone) => {
      tally = createProofTally(tone, piece.passes[0].rowPitchMm);
    },
    onSwath: (swath) => {
      tally?.add(swath);
      hooks.onSwath?.(swath);
    },
  });
  hooks.onProgress?.(1, 'diagnosis');
  const sums = (tally as ProofTally | null)!.sums();
  // The page has it already: its quick look needs it.
  const scene = createCoarsePipeline().scene(piece, photo);
  const start = hooks.now();
  const said = await judged(piece, proof, runner, JUDGE_DRAWS);
  const photoPixels = photo.picture.width;
  const diagnosis = await diagnose(piece, proof, said, sums, scene, runner, { ...DIAGNOSE_DEFAULTS, photoPixels });
  return { proof, said, diagnosis, tookMs: Math.round(hooks.now() - start) };
}

const WEIGHT_WORDS = (severity: number): string =>
  severity >= SPOILS ? 'Will spoil it' : severity >= SHOWS ? 'Will show' : 'Slight';

function diagnosisText({ verdict, findings }: Diagnosis): string {
  const paragraphs = findings.map((finding, i) => `${i + 1}. ${findingText(finding)}`);
  return `${[verdict, ...paragraphs].join('\n\n')}\n`;
}

function findingText({ severity, sentence, place, change }: Finding): string {
  const lines = [`${WEIGHT_WORDS(severity)}: ${sentence}`];
  if (place) {
    const [x, y] = [place.xMm, place.yMm].map((value) => value.toFixed(0));
    lines.push(`   Look ${x} mm from the left and ${y} mm from the top of the picture.`);
  }
  if (change) lines.push(`   ${change.words}. ${change.outcome}`);
  return lines.join('\n');
}
