import { inLanes } from '../base/in-lanes.ts';
import { type Answerers, createRemote, type OpenPort, RemoteLost } from '../base/remote/remote.ts';
import { breathe } from '../base/stop.ts';
import type { ToneImage } from '../image/picture.ts';
import { type NearHeat, nearHeat, type Warmer } from '../physics/heat/warmth.ts';
import type { ScreenedPass } from '../physics/raster/pass-raster.ts';
import { LIGHT_AREA_LIGHTNESS } from './clearing.ts';
import { type DotBand, searchBand } from './fine-dots.ts';
import type { BurnPass } from './kernel/contract.ts';
import { burnOnProcessor } from './kernel/processor.ts';
import { fieldsJob, haloOf } from './plan.ts';
import { burnSwath, burnsAtLightEnd, type CellGrid, cutWindow, type LaidRows, layRows, soundSwath } from './swath.ts';
import type { SwathJob, SwathResult, SwathTask } from './swath-task.ts';

/** Something that burns swaths, several at a time. */
export interface SwathRunner extends Warmer {
  /** Swaths worth having under way at once. */
  readonly lanes: number;
  /** What runs and why, for people. */
  readonly description: string;
  /** Several jobs may be under way at once; a job is forgotten once `JOBS_KEPT` others have been used since. */
  start(job: SwathJob): void;
  run(task: SwathTask): Promise<SwathResult>;
  /** Lays wood and films of a job that was started on rows of its cells. */
  lay(rows: RowsOfJob): Promise<LaidRows>;
  /** Moves the dots of a band of a picture, see `fine-dots.ts`. */
  search(band: DotBand): Promise<Uint8Array>;
  /** Burns all that is to be burned its own way, and hands on swaths in any order; false if it does not take this. Throws as `runSwaths` does. */
  burnWhole?(work: SwathWork, hooks: SwathHooks): Promise<boolean>;
  dispose(): void;
}

type RowsOfJob = Pick<SwathTask, 'jobId' | 'y0' | 'rows'>;

/** So many that draws on the same pool, a job each, do not push out a proof that is under way. */
const JOBS_KEPT = 64;

/** A worker has copies, large ones; what it has not any more is sent once more. */
const COPIES_KEPT = 8;

/** The jobs last started or asked for, by their ids. */
interface JobShelf {
  put(job: SwathJob): void;
  has(task: RowsOfJob): boolean;
  /** @throws Error for a job that is not there. */
  of(task: RowsOfJob): SwathJob;
}

export function createJobShelf(most = JOBS_KEPT): JobShelf {
  const jobs = new Map<number, SwathJob>();
  const put = (job: SwathJob): void => {
    jobs.delete(job.id);
    jobs.set(job.id, job);
    if (jobs.size > most) jobs.delete(jobs.keys().next().value as number);
  };
  return {
    put,
    has: ({ jobId }) => jobs.has(jobId),
    of({ jobId }) {
      const job = jobs.get(jobId);
      if (!job) throw new Error('a swath came before its job');
      put(job);
      return job;
    },
  };
}

/** Burns swaths where it is called. */
export function createInlineRunner(burnPass: BurnPass = burnOnProcessor): SwathRunner {
  const jobs = createJobShelf();
  return {
    lanes: 1,
    description: 'in place',
    start: jobs.put,
    run: async (task) => burnSwath(jobs.of(task), task, burnPass),
    lay: async (rows) => layRows(jobs.of(rows), rows),
    search: async (band) => searchBand(band),
    warm: async (near) => nearHeat(near),
    dispose() {},
  };
}

/** All that is to be burned of a picture, or of a part of it. */
export interface SwathWork {
  readonly job: SwathJob;
  /** The cells to burn; where they are a part of the picture, `firstX` and `firstY` say which. */
  readonly grid: CellGrid;
  readonly screened: readonly ScreenedPass[];
  /** The whole picture as the first pass burns it. */
  readonly tone: ToneImage;
  readonly lightens: boolean;
  /** Cell rows per swath. */
  readonly swathRows: number;
}

export interface SwathHooks {
  readonly signal?: AbortSignal;
  /** Swaths in the order in which they are done. */
  readonly onSwath?: (swath: SwathResult) => void;
  readonly onShare?: (share: number) => void;
  /**
   * Where the picture may stay on a graphics card for whoever draws it: if it does, one swath of all of it comes with its counts and no
   * surface. Called if it does.
   */
  readonly onLying?: (lying: LyingPicture) => void;
}

/** A burned picture as a graphics card has it: what that is only whoever burns there and whoever draws it know. */
export interface LyingPicture {
  readonly planes: object;
  /** Whether some cell is seen to be burned through to the wood. */
  readonly opensWood: boolean;
}

/** Sends the swaths through the runner, as many at a time as it has lanes for. @throws Cancelled; RangeError from `soundSwath`. */
export async function runSwaths(runner: SwathRunner, work: SwathWork, hooks: SwathHooks): Promise<void> {
  if (await runner.burnWhole?.(work, hooks)) return;
  const { job, grid, swathRows } = work;
  runner.start(job);
  const count = Math.ceil(grid.height / swathRows);
  let done = 0;
  await inLanes(count, runner.lanes, async (i) => {
    await breathe(hooks.signal);
    const y0 = i * swathRows;
    const rows = Math.min(swathRows, grid.height - y0);
    const result = soundSwath(await runner.run(taskOf(work, job.id, y0, rows)));
    hooks.signal?.throwIfAborted();
    done++;
    hooks.onSwath?.(result);
    hooks.onShare?.(done / count);
  });
}

const taskOf = (work: SwathWork, jobId: number, y0: number, rows: number): SwathTask => ({
  jobId,
  y0,
  rows,
  windows: work.screened.map((pass, i) => {
    const halo = haloOf(work.job.passes[i]);
    return cutWindow(pass, work.grid, y0, rows, halo.rows, halo.columns);
  }),
  aim: aimOf(work, y0, rows),
});

/** Burns single rows of cells with all that can be told of them; the last one is kept. */
export function createRowReader(runner: SwathRunner, work: SwathWork): (y: number) => Promise<SwathResult> {
  const job = fieldsJob(work.job);
  let last: { readonly y: number; readonly row: Promise<SwathResult> } | null = null;
  return (y) => {
    if (last?.y === y) return last.row;
    runner.start(job);
    const row = runner.run(taskOf(work, job.id, y, 1)).then(soundSwath);
    last = { y, row };
    return row;
  };
}

type AimWork = Pick<SwathWork, 'tone' | 'screened' | 'grid' | 'lightens'>;

/** 1 in the picture, 2 where it is light and some pass burns its dot at the light end, so that the coat is meant to be gone. */
export function aimOf({ tone, screened, grid, lightens }: AimWork, y0: number, rows: number): Uint8Array {
  const { firstX = 0, firstY = 0 } = grid;
  const aim = new Uint8Array(grid.width * rows);
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < grid.width; x++) {
      const at = (firstY + y0 + y) * tone.width + firstX + x;
      if (tone.mask[at] === 0) continue;
      const light = lightens && tone.lightness[at] >= LIGHT_AREA_LIGHTNESS;
      aim[y * grid.width + x] = light && burnsAtLightEnd(screened, grid, x, y0 + y) ? 2 : 1;
    }
  }
  return aim;
}

/** What a worker of the pool is asked. */
export interface SwathQuestions {
  /** Null: it does not have the swath's job and is to be asked once more with it. */
  readonly swath: {
    readonly asks: { readonly task: SwathTask; readonly job: SwathJob | null };
    readonly gets: SwathResult | null;
  };
  readonly lay: {
    readonly asks: { readonly task: RowsOfJob; readonly job: SwathJob | null };
    readonly gets: LaidRows | null;
  };
  readonly search: { readonly asks: DotBand; readonly gets: Uint8Array };
  readonly warm: { readonly asks: NearHeat; readonly gets: Float32Array };
}

/** The worker's side. */
export function swathAnswerers(): Answerers<SwathQuestions> {
  const jobs = createJobShelf(COPIES_KEPT);
  return {
    swath({ task, job }) {
      if (job) jobs.put(job);
      if (!jobs.has(task)) return { gets: null };
      const result = burnSwath(jobs.of(task), task, burnOnProcessor);
      return { gets: result, transfer: buffersOf(result) };
    },
    lay({ task, job }) {
      if (job) jobs.put(job);
      if (!jobs.has(task)) return { gets: null };
      const laid = layRows(jobs.of(task), task);
      const { thicknessUm, reliefUm, density, shade, woodAbsorptance } = laid;
      const planes = [thicknessUm.data, reliefUm, density, shade, woodAbsorptance];
      return { gets: laid, transfer: planes.map(({ buffer }) => buffer) };
    },
    search(band) {
      const found = searchBand(band);
      return { gets: found, transfer: [found.buffer] };
    },
    warm(near) {
      const warmed = nearHeat(near);
      return { gets: warmed, transfer: [warmed.buffer] };
    },
  };
}

function buffersOf({ color, relief, through, fields }: SwathResult): ArrayBufferLike[] {
  const planes = fields ? [...fields.residueUm, fields.woodDepthUm, fields.excess] : [];
  return [color, relief, through, ...planes].flatMap((data) => data?.buffer ?? []);
}

/** A pool of workers; a swath's place decides which of them burns it. One that dies is replaced, and its swaths are burned once more. */
export function createPoolRunner(open: OpenPort, size: number, description: string): SwathRunner {
  const workers = Array.from({ length: size }, () => createRemote<SwathQuestions>(open));
  const jobs = createJobShelf();
  const busy = workers.map(() => 0);
  /** Asks once more with the job where a worker does not have it, and another worker where one dies. */
  async function ask<Name extends 'swath' | 'lay'>(
    name: Name,
    task: SwathQuestions[Name]['asks']['task'],
  ): Promise<NonNullable<SwathQuestions[Name]['gets']>> {
    const job = jobs.of(task);
    // The same swath of a film always goes to the same worker, which has laid it already; test patches go wherever least is to be done.
    const at = job.filmSteps ? busy.indexOf(Math.min(...busy)) : Math.floor(task.y0 / task.rows) % size;
    const asked = (sent: SwathJob | null) => workers[at].ask(name, { task, job: sent } as SwathQuestions[Name]['asks']);
    // Most patches are all there is of their job.
    const tell = async () => (job.filmSteps ? null : await asked(null)) ?? (await asked(job));
    busy[at]++;
    try {
      const gets = await tell().catch((error: unknown) => {
        if (error instanceof RemoteLost) return tell();
        throw error;
      });
      if (!gets) throw new Error('a worker does not take its job');
      return gets;
    } finally {
      busy[at]--;
    }
  }
  /** What any worker can do without a job; another one where it dies. */
  async function askAny<Name extends 'search' | 'warm'>(
    name: Name,
    asked: SwathQuestions[Name]['asks'],
  ): Promise<SwathQuestions[Name]['gets']> {
    const at = busy.indexOf(Math.min(...busy));
    busy[at]++;
    try {
      return await workers[at].ask(name, asked).catch((error: unknown) => {
        if (error instanceof RemoteLost) return workers[at].ask(name, asked);
        throw error;
      });
    } finally {
      busy[at]--;
    }
  }
  return {
    lanes: size,
    description,
    start: jobs.put,
    run: (task) => ask('swath', task),
    lay: (rows) => ask('lay', rows),
    search: (band) => askAny('search', band),
    warm: (near) => askAny('warm', near),
    dispose() {
      for (const worker of workers) worker.close();
    },
  };
}
