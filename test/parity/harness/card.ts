import { fromHalfFloat } from '../../../src/base/half-float.ts';
import { createGpuJsBackend } from '../../../src/burn/kernel/gpu-js.ts';
import { addStats, createProofPipeline, emptyStats } from '../../../src/burn/proof.ts';
import { createInlineRunner, type SwathWork } from '../../../src/burn/runner.ts';
import { layRows } from '../../../src/burn/swath.ts';
import type { SwathResult, SwathStats } from '../../../src/burn/swath-task.ts';
import { ContextDevice } from '../../../src/page/burn/card/card-device.ts';
import { cardTakes } from '../../../src/page/burn/card/card-plan.ts';
import { CardSession } from '../../../src/page/burn/card/card-session.ts';
import { CARD_JOBS } from '../card-jobs.ts';

/** How a job comes out on a card and on the processor. */
export interface CardDifference {
  readonly name: string;
  readonly taken: boolean;
  readonly cells: number;
  /** Codes of eight bits, µm, and levels of scorch: the largest difference, and the cells that differ at all. */
  readonly color: number;
  readonly colorCells: number;
  readonly heightUm: number;
  readonly scorch: number;
  readonly through: number;
  readonly stats: { readonly card: SwathStats; readonly processor: SwathStats };
  readonly cardMs: number;
}

declare global {
  interface Window {
    compareCard: (name: string) => Promise<CardDifference>;
  }
}

let session: CardSession | null = null;

window.compareCard = async (name) => {
  const job = CARD_JOBS.find((one) => one.name === name)!;
  let work: SwathWork | null = null;
  const runner = createInlineRunner(await createGpuJsBackend('parity'));
  const swaths: SwathResult[] = [];
  const processor = emptyStats();
  await createProofPipeline().proof(
    {
      piece: job.piece,
      photo: { key: name, picture: job.picture, castless: null },
      collect: { surface: true, fields: false, painted: false },
    },
    {
      ...runner,
      async burnWhole(asked) {
        work = asked;
        return false;
      },
    },
    {
      onSwath(swath) {
        swaths.push(swath);
        addStats(processor, swath.stats);
      },
    },
  );
  const { grid } = work!;
  const gl = new OffscreenCanvas(1, 1).getContext('webgl2')!;
  session ??= new CardSession(new ContextDevice({ use: (work) => work(gl) }));
  const taken = cardTakes(work!);
  await session.hold(
    work!,
    async (y0, rows) => layRows(work!.job, { y0, rows }),
    () => {},
  );
  const card = emptyStats();
  const difference = { color: 0, colorCells: 0, heightUm: 0, scorch: 0, through: 0 };
  const start = performance.now();
  const rows = 24;
  for (let y0 = 0; y0 < grid.height; y0 += rows) {
    const count = Math.min(rows, grid.height - y0);
    const band = await session.read(y0, count);
    addStats(card, band.stats);
    for (let y = 0; y < count; y++) {
      const swath = swaths.find((one) => y0 + y >= one.y0 && y0 + y < one.y0 + one.rows)!;
      for (let x = 0; x < grid.width; x++) {
        const here = y * grid.width + x;
        const there = (y0 + y - swath.y0) * grid.width + x;
        let codes = 0;
        for (let k = 0; k < 4; k++) {
          codes = Math.max(codes, Math.abs(band.color![4 * here + k] - swath.color![4 * there + k]));
        }
        if (codes > 0) difference.colorCells++;
        difference.color = Math.max(difference.color, codes);
        const off = (k: number) =>
          Math.abs(fromHalfFloat(band.relief![2 * here + k]) - fromHalfFloat(swath.relief![2 * there + k]));
        difference.heightUm = Math.max(difference.heightUm, off(0));
        difference.scorch = Math.max(difference.scorch, off(1));
        if (band.through![here] !== swath.through![there]) difference.through++;
      }
    }
  }
  const cardMs = performance.now() - start;
  return { name, taken, cells: grid.width * grid.height, ...difference, stats: { card, processor }, cardMs };
};
