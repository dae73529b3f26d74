import { fromHalfFloat } from '../../../src/base/half-float.ts';
import { cutJob } from '../../../src/burn/plan.ts';
import { addStats, createProofPipeline, emptyStats } from '../../../src/burn/proof.ts';
import { createInlineRunner, type SwathWork } from '../../../src/burn/runner.ts';
import { layRows } from '../../../src/burn/swath.ts';
import type { SwathResult, SwathStats } from '../../../src/burn/swath-task.ts';
import { CardDevice } from '../../../src/page/burn/card/card-device.ts';
import { cardTakes } from '../../../src/page/burn/card/card-plan.ts';
import { CardSession } from '../../../src/page/burn/card/card-session.ts';
import { SurfacePasses } from '../../../src/render/slab/surface/gpu-surface.ts';
import type { SurfacePlanes } from '../../../src/render/slab/surface/planes.ts';
import { CARD_JOBS } from '../card-jobs.ts';

/** How a job comes out on a card and on the processor. */
export interface CardDifference {
  readonly name: string;
  readonly taken: boolean;
  readonly cells: number;
  /** The largest difference of colours in codes of eight bits, and the cells in which they differ at all. */
  readonly color: number;
  readonly colorCells: number;
  /** The largest difference of heights in steps of a half float, and of scorch in levels. */
  readonly heightSteps: number;
  readonly scorch: number;
  /** Cells that only one of the two burns through to the wood. */
  readonly through: number;
  /** Cells that lie otherwise in the view's textures than they are read. */
  readonly shown: number;
  /** Whether some cell is seen to be burned through, as counted and as it is. */
  readonly opensWood: readonly boolean[];
  /** Of all of it at once, of bands that are added up, and by the processor. */
  readonly stats: { readonly card: SwathStats; readonly bands: SwathStats; readonly processor: SwathStats };
}

declare global {
  interface Window {
    compareCard: (name: string) => Promise<CardDifference>;
  }
}

async function makeCard() {
  const device = await CardDevice.open();
  if (!device) throw new Error('there is no card, nor software in place of one');
  return new CardSession(device);
}

let card: CardSession | null = null;
let gl: WebGL2RenderingContext | null = null;

/** What the view would draw. */
function drawn(planes: SurfacePlanes, size: { readonly width: number; readonly height: number }) {
  const { width, height } = size;
  gl ??= new OffscreenCanvas(1, 1).getContext('webgl2')!;
  const context = gl;
  const made = [context.SRGB8_ALPHA8, context.RG16F].map((format) => {
    const texture = context.createTexture();
    context.bindTexture(context.TEXTURE_2D, texture);
    context.texStorage2D(context.TEXTURE_2D, 1, format, width, height);
    return texture;
  });
  new SurfacePasses(context).drawPlanes(planes, made, size);
  const frame = context.createFramebuffer();
  context.bindFramebuffer(context.FRAMEBUFFER, frame);
  const attach = (texture: WebGLTexture) =>
    context.framebufferTexture2D(context.FRAMEBUFFER, context.COLOR_ATTACHMENT0, context.TEXTURE_2D, texture, 0);
  attach(made[0]);
  const color = new Uint8Array(4 * width * height);
  context.readPixels(0, 0, width, height, context.RGBA, context.UNSIGNED_BYTE, color);
  attach(made[1]);
  const relief = new Float32Array(4 * width * height);
  context.readPixels(0, 0, width, height, context.RGBA, context.FLOAT, relief);
  context.deleteFramebuffer(frame);
  for (const texture of made) context.deleteTexture(texture);
  return { color, relief };
}

/** Half floats in the order of their numbers. */
const stepOf = (half: number): number => (half & 0x8000 ? -(half & 0x7fff) : half);

window.compareCard = async (name) => {
  const job = CARD_JOBS.find((one) => one.name === name)!;
  let work: SwathWork | null = null;
  const runner = createInlineRunner();
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
  card ??= await makeCard();
  const session = card;
  const taken = cardTakes(work!, session.mostTexels);
  // As in a trial: some rows first, as a picture of their own, of which nothing may stay.
  const part = {
    ...work!,
    job: cutJob(work!.job, 0, 8, grid.width),
    grid: { ...grid, firstX: 0, firstY: 8, height: 16 },
  };
  await session.hold(part, async (y0, rows) => layRows(part.job, { y0, rows }));
  await session.read(0, 16);
  await session.hold(work!, async (y0, rows) => layRows(work!.job, { y0, rows }));
  const { stats, opensWood } = await session.burn();
  const shown = drawn(await session.picture(), grid);
  const bands = emptyStats();
  let opens = false;
  const difference = { color: 0, colorCells: 0, heightSteps: 0, scorch: 0, through: 0, shown: 0 };
  const rows = 24;
  for (let y0 = 0; y0 < grid.height; y0 += rows) {
    const count = Math.min(rows, grid.height - y0);
    const band = await session.read(y0, count);
    addStats(bands, band.stats);
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
        const heights = [band.relief![2 * here], swath.relief![2 * there]].map(stepOf);
        difference.heightSteps = Math.max(difference.heightSteps, Math.abs(heights[0] - heights[1]));
        const [own, wanted] = [band.relief![2 * here + 1], swath.relief![2 * there + 1]].map(fromHalfFloat);
        difference.scorch = Math.max(difference.scorch, Math.abs(own - wanted));
        opens ||= own >= 0.99;
        const at = (y0 + y) * grid.width + x;
        const same =
          [0, 1, 2, 3].every((k) => shown.color[4 * at + k] === band.color![4 * here + k]) &&
          [0, 1].every((k) => shown.relief[4 * at + k] === fromHalfFloat(band.relief![2 * here + k]));
        if (!same) difference.shown++;
        if (band.through![here] !== swath.through![there]) difference.through++;
      }
    }
  }
  return {
    name,
    taken,
    cells: grid.width * grid.height,
    ...difference,
    opensWood: [opensWood, opens],
    stats: { card: stats, bands, processor },
  };
};
