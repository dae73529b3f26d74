import { join } from 'node:path';
import sharp from 'sharp';
import { srgbDecodingTable } from '../base/color/srgb.ts';
import { encodeNpy } from '../base/npy.ts';
import type { Photo } from '../burn/prepare.ts';
import { createProofPipeline, type Proof } from '../burn/proof.ts';
import type { SwathRunner } from '../burn/runner.ts';
import { type SeenError, seenError } from '../burn/seen-error.ts';
import type { SwathResult } from '../burn/swath-task.ts';
import { setPngResolution } from '../image/png-stream.ts';
import { proofSentences } from '../outputs/proof-sentences.ts';
import { powerAt } from '../physics/beam/gaussian.ts';
import type { Piece } from '../piece/schema.ts';
import { bandsOf, type HowSure } from '../studies/sure/how-sure.ts';
import { JUDGE_DRAWS, judged } from '../studies/sure/judge.ts';
import { type Command, type CommandIo, createProgress } from './io.ts';
import { BURN_OPTIONS, baseNameOf, openJob, PIECE_OPTION } from './open-job.ts';
import { numberOption, type OptionValues } from './options.ts';
import type { Outputs } from './outputs.ts';
import { createCliRunner } from './runner.ts';

type Bands = Omit<HowSure, 'map'>;

export const PROOF: Command = {
  name: 'proof',
  operands: '[PHOTO]',
  summary: 'Predict what a burn does to a photograph: proof.png, uncleared.png, report.json.',
  options: [
    PIECE_OPTION,
    { name: 'out', value: 'DIR', help: 'where to write (default: PHOTO without its ending, -proof)' },
    ...BURN_OPTIONS,
    {
      name: 'tries',
      value: 'N',
      help: `paints and beams to try for the bands (default ${JUDGE_DRAWS}, as for every verdict; 0: no bands)`,
    },
    { name: 'fields', help: 'also write every field as a NumPy array' },
    { name: 'json', help: 'print the report' },
  ],
  async run(operands, values, io) {
    triesOf(values);
    const decodeStart = io.now();
    const folder = (values['out'] as string | undefined) ?? `${baseNameOf(operands, values)}-proof`;
    const claim = () => io.outputs.claimFolder(folder);
    const { piece, photo } = await openJob('proof', operands, values, claim);
    const decodeMs = io.now() - decodeStart;
    const { proof, report, bands, seen } = await writeProof(photo, decodeMs, piece, folder, values, io);
    if (values['json']) io.out(`${JSON.stringify(report, null, 2)}\n`);
    else io.out(summaryText(proof, piece, bands, seen, folder));
  },
};

async function writeProof(
  photo: Photo,
  decodeMs: number,
  piece: Piece,
  folder: string,
  values: OptionValues,
  io: CommandIo,
): Promise<{ proof: Proof; report: object; bands: Bands | null; seen: SeenError | null }> {
  const progress = createProgress(io);
  const runner = createCliRunner();
  try {
    const picture = createBurnedPicture();
    const pipeline = createProofPipeline({ once: true });
    const proof = await pipeline.proof(
      {
        piece,
        photo,
        collect: { surface: true, fields: values['fields'] === true, painted: false },
      },
      runner,
      { onGrid: picture.begin, onSwath: picture.add, onProgress: progress.show, now: io.now },
    );
    progress.show(1, 'write');
    const writeStart = io.now();
    await createProofWriter(io.outputs, folder).write(proof, piece, picture);
    const writeMs = io.now() - writeStart;
    const aim = pipeline.aim(piece, photo);
    const seen = aim && seenIn(proof, aim, picture.rgb());
    progress.show(1, 'bands');
    const bandStart = io.now();
    const bands = await tryBands(proof, piece, values, runner);
    const stagesMs = rounded({ decode: decodeMs, ...proof.stagesMs, write: writeMs, bands: io.now() - bandStart });
    const calibrated = piece.certainty.source === 'calibrated';
    const report = {
      ...proof.summary,
      bands,
      seen,
      calibrated,
      direction: proof.direction,
      backend: proof.backend,
      stagesMs,
      settings: piece,
    };
    await io.outputs.write(join(folder, 'report.json'), `${JSON.stringify(report, null, 2)}\n`);
    return { proof, report, bands, seen };
  } finally {
    progress.clear();
    runner.dispose();
  }
}

/** How far the proof is off what its dots were placed for. */
function seenIn({ grid, tone }: Proof, wanted: Float32Array, rgb: Uint8Array): SeenError {
  const { width, height, pitchMm } = grid;
  const burned = new Float32Array(width * height);
  const linear = srgbDecodingTable(8);
  for (let i = 0; i < burned.length; i++) {
    burned[i] = 0.2126 * linear[rgb[3 * i]] + 0.7152 * linear[rgb[3 * i + 1]] + 0.0722 * linear[rgb[3 * i + 2]];
  }
  return seenError({ width, height, pitchMm, burned, wanted, lightness: tone.lightness, mask: tone.mask });
}

const triesOf = (values: OptionValues): number =>
  values['tries'] === undefined ? JUDGE_DRAWS : numberOption('--tries', values['tries'] as string, 0, 1000);

/** Bands of the summary's numbers; null if none were asked for. */
async function tryBands(proof: Proof, piece: Piece, values: OptionValues, runner: SwathRunner): Promise<Bands | null> {
  const draws = Math.round(triesOf(values));
  if (draws === 0) return null;
  const { judge, judgement } = await judged(piece, proof, runner, draws);
  return bandsOf(judgement, judge.lit);
}

const rounded = (stages: Record<string, number>): Record<string, number> =>
  Object.fromEntries(Object.entries(stages).map(([name, ms]) => [name, Math.round(ms)]));

/** Rounded before it is divided, so that no minute has 60 seconds left over. */
export function minutesAndSeconds(exactS: number): string {
  const seconds = Math.round(exactS);
  return `${Math.floor(seconds / 60)} min ${seconds % 60} s`;
}

function summaryText(proof: Proof, piece: Piece, bands: Bands | null, seen: SeenError | null, folder: string): string {
  const { summary } = proof;
  const lines = [
    ...proofSentences(summary, bands, piece.certainty.source),
    ...(seen
      ? [
          `Seen from 40 cm it is ${seen.rms.toFixed(1)} L* off what the photograph asks for; 95 of 100 places are off by less than ${seen.p95.toFixed(1)}.`,
        ]
      : []),
    `${summary.rows} rows, ${minutesAndSeconds(summary.burnTimeS)}.`,
    `Written to ${folder} (${proof.backend}).`,
  ];
  return `${lines.join('\n')}\n`;
}

type BurnedPicture = ReturnType<typeof createBurnedPicture>;

/** What of a proof's swaths is written, put together as they come: all that they carry would be several times as much. */
function createBurnedPicture() {
  let width = 0;
  let rgb = new Uint8Array(0);
  let uncleared = new Uint8Array(0);
  const fields: Pick<SwathResult, 'y0' | 'fields'>[] = [];
  return {
    begin(grid: { width: number; height: number }): void {
      width = grid.width;
      rgb = new Uint8Array(3 * width * grid.height);
      uncleared = new Uint8Array(width * grid.height);
    },
    add(swath: SwathResult): void {
      const color = swath.color!;
      const start = swath.y0 * width;
      for (let i = 0; i < width * swath.rows; i++) {
        rgb[3 * (start + i)] = color[4 * i];
        rgb[3 * (start + i) + 1] = color[4 * i + 1];
        rgb[3 * (start + i) + 2] = color[4 * i + 2];
        uncleared[start + i] = color[4 * i + 3];
      }
      if (swath.fields) fields.push({ y0: swath.y0, fields: swath.fields });
    },
    rgb: () => rgb,
    uncleared: () => uncleared,
    fields,
  };
}

/** Writes a proof's pictures and, where the swaths carry them, its fields into a folder. */
function createProofWriter(outputs: Outputs, folder: string) {
  async function writePng(name: string, data: Uint8Array, proof: Proof, channels: 1 | 3): Promise<void> {
    const { width, height, pitchMm } = proof.grid;
    const png = await sharp(data, { raw: { width, height, channels } })
      .toColourspace(channels === 1 ? 'b-w' : 'srgb')
      .png({ compressionLevel: 3 })
      .toBuffer();
    await outputs.write(join(folder, name), setPngResolution(png, 1 / pitchMm));
  }

  const writeNpy = (name: string, data: Float32Array, shape: [number, number]) =>
    outputs.write(join(folder, `${name}.npy`), encodeNpy(data, shape));

  async function writeFields(proof: Proof, piece: Piece, { fields }: BurnedPicture): Promise<void> {
    const { width, height } = proof.grid;
    const gather = (pick: (swath: Pick<SwathResult, 'fields'>) => Float32Array) => {
      const whole = new Float32Array(width * height);
      for (const swath of fields) whole.set(pick(swath), swath.y0 * width);
      return whole;
    };
    const shape: [number, number] = [height, width];
    for (let i = 0; i < piece.stack.coats.length; i++) {
      await writeNpy(
        `residue-${i}-um`,
        gather((swath) => swath.fields!.residueUm[i]),
        shape,
      );
    }
    await writeNpy(
      'wood-depth-um',
      gather((swath) => swath.fields!.woodDepthUm),
      shape,
    );
    await writeNpy(
      'excess-j-per-mm2',
      gather((swath) => swath.fields!.excess),
      shape,
    );
    await writeNpy('tone', proof.tone.lightness, shape);
    for (const [i, { levels, mask, raster }] of proof.screened.entries()) {
      const power = Float32Array.from(levels, (level, at) => (mask[at] === 0 ? 0 : powerAt(piece.passes[i], level)));
      await writeNpy(i === 0 ? 'power' : `power-${i + 1}`, power, [raster.rows, raster.columns]);
    }
  }

  return {
    async write(proof: Proof, piece: Piece, picture: BurnedPicture): Promise<void> {
      await Promise.all([
        writePng('proof.png', picture.rgb(), proof, 3),
        writePng('uncleared.png', picture.uncleared(), proof, 1),
      ]);
      if (picture.fields.length > 0) await writeFields(proof, piece, picture);
    },
  };
}
