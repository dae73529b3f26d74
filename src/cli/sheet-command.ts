import type { Proof } from '../burn/proof.ts';
import { benchSheet, type LadderRung } from '../outputs/paper/bench-sheet.ts';
import { firstLadder } from '../outputs/paper/first-ladder.ts';
import { PROOF_MM } from '../outputs/paper/paper.ts';
import { codeDrawing, pieceCode } from '../outputs/paper/piece-code.ts';
import { proofSentences } from '../outputs/proof-sentences.ts';
import type { Piece } from '../piece/schema.ts';
import { bandsOf } from '../studies/sure/how-sure.ts';
import { JUDGE_DRAWS, judged } from '../studies/sure/judge.ts';
import type { Command } from './io.ts';
import { MAKER_OPTIONS, makerOption } from './maker-options.ts';
import { BURN_OPTIONS, baseNameOf, openJob, PIECE_OPTION } from './open-job.ts';
import { paperBytes, paperKind } from './paper-bytes.ts';
import { proofPicture } from './proof-picture.ts';
import { createCliRunner } from './runner.ts';

export const SHEET: Command = {
  name: 'sheet',
  operands: '[PHOTO]',
  summary: 'Write the paper that lies beside the machine: coats, settings, order of work, placement, cautions.',
  options: [
    PIECE_OPTION,
    { name: 'out', value: 'FILE', help: 'ends in .html or .pdf (default: the name with -sheet.pdf)' },
    ...BURN_OPTIONS,
    ...MAKER_OPTIONS,
    { name: 'json', help: 'print what the sheet holds' },
  ],
  async run(operands, values, io) {
    const asked = values['out'] as string | undefined;
    if (asked) paperKind(asked);
    const out = asked ?? `${baseNameOf(operands, values)}-sheet.pdf`;
    const { piece, photo } = await openJob('sheet', operands, values, () => io.outputs.claim(out));
    const maker = await makerOption(piece, values);
    const { proof, url } = await proofPicture({ piece, photo }, io, PROOF_MM.sheet);
    const { ladder, bands } = await judgePowers(piece, proof);
    const code = pieceCode(JSON.stringify(piece));
    const paper = benchSheet({
      piece,
      photo: photo.picture,
      times: proof.passes,
      proofUrl: url,
      maker,
      predicted: proofSentences(proof.summary, bands, piece.certainty.source),
      ladder,
      code,
      codeSvg: codeDrawing(`foreburn:${code}`),
    });
    await io.outputs.write(out, await paperBytes(out, paper));
    if (values['json'])
      io.out(
        `${JSON.stringify({ file: out, code, passes: proof.passes, paper: withoutPictures(paper.blocks) }, null, 2)}\n`,
      );
    else io.out(`${out}: bench sheet of piece ${code}.\n`);
  },
};

/** What the judge says of the piece, and of powers to try where no card has told which one clears. */
async function judgePowers(
  piece: Piece,
  proof: Proof,
): Promise<{ ladder: readonly LadderRung[]; bands: ReturnType<typeof bandsOf> }> {
  const runner = createCliRunner();
  try {
    const { judge, judgement } = await judged(piece, proof, runner, JUDGE_DRAWS);
    const ladder = piece.certainty.source === 'calibrated' ? [] : await firstLadder(piece, proof, runner);
    return { ladder, bands: bandsOf(judgement, judge.lit) };
  } finally {
    runner.dispose();
  }
}

/** Blocks as they are, but for the pictures' bytes. */
const withoutPictures = (blocks: readonly object[]): unknown =>
  JSON.parse(JSON.stringify(blocks, (key, value) => (key === 'url' || key === 'svg' ? undefined : value)));
