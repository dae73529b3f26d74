import type { Maker } from '../base/maker.ts';
import type { Photo } from '../burn/prepare.ts';
import type { Proof } from '../burn/proof.ts';
import type { SwathRunner } from '../burn/runner.ts';
import { benchSheet } from '../outputs/paper/bench-sheet.ts';
import { firstLadder } from '../outputs/paper/first-ladder.ts';
import { type Paper, PROOF_MM } from '../outputs/paper/paper.ts';
import { codeDrawing, pieceCode } from '../outputs/paper/piece-code.ts';
import { proofSentences } from '../outputs/proof-sentences.ts';
import type { Piece } from '../piece/schema.ts';
import { bandsOf } from '../studies/sure/how-sure.ts';
import { JUDGE_DRAWS, type Judged, judged } from '../studies/sure/judge.ts';
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
    const runner = createCliRunner();
    const { paper, code } = await judged(piece, proof, runner, JUDGE_DRAWS)
      .then((said) => sheetOf({ piece, photo, proof, said, proofUrl: url, maker }, runner))
      .finally(() => runner.dispose());
    await io.outputs.write(out, await paperBytes(out, paper));
    if (values['json'])
      io.out(
        `${JSON.stringify({ file: out, code, passes: proof.passes, paper: withoutPictures(paper.blocks) }, null, 2)}\n`,
      );
    else io.out(`${out}: bench sheet of piece ${code}.\n`);
  },
};

/** The sheet of a judged piece, with powers to try where no card has told which one clears. */
export async function sheetOf(
  { piece, photo, proof, said, proofUrl, maker }: SheetOf,
  runner: SwathRunner,
): Promise<{ readonly paper: Paper; readonly code: string }> {
  const ladder = piece.certainty.source === 'calibrated' ? [] : await firstLadder(piece, proof, runner);
  const code = pieceCode(JSON.stringify(piece));
  const bands = bandsOf(said.judgement, said.judge.lit);
  const paper = benchSheet({
    piece,
    photo: photo.picture,
    times: proof.passes,
    proofUrl,
    maker,
    predicted: proofSentences(proof.summary, bands, piece.certainty.source),
    ladder,
    code,
    codeSvg: codeDrawing(`foreburn:${code}`),
  });
  return { paper, code };
}

interface SheetOf {
  readonly piece: Piece;
  readonly photo: Photo;
  readonly proof: Proof;
  readonly said: Judged;
  readonly proofUrl: string;
  readonly maker: Maker;
}

/** Blocks as they are, but for the pictures' bytes. */
const withoutPictures = (blocks: readonly object[]): unknown =>
  JSON.parse(JSON.stringify(blocks, (key, value) => (key === 'url' || key === 'svg' ? undefined : value)));
