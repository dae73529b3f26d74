import { RemoteLost } from '../../../base/remote/remote.ts';
import { breathe, Cancelled } from '../../../base/stop.ts';
import { cutJob } from '../../../burn/plan.ts';
import { runSwaths, type SwathHooks, type SwathRunner, type SwathWork } from '../../../burn/runner.ts';
import { soundSwath } from '../../../burn/swath.ts';
import type { SwathResult } from '../../../burn/swath-task.ts';
import { cardTakes, isPicture } from './card-plan.ts';
import type { CardSession, LayRows } from './card-session.ts';

/** A pool that leaves whole pictures to a graphics card where that is faster. */
export interface CardRunner extends SwathRunner {
  /** A card that may be used from now on, or that there is none any more. */
  offer(card: CardSession | null): void;
  /** Whether the last whole picture lies ready on a card that is still there: the next one is there at once. */
  readonly atOnce: boolean;
  /** Tries the card on a picture that the pool has burned, and brings it there: the next change finds it ready. @throws Cancelled. */
  prepare(work: SwathWork, signal?: AbortSignal): Promise<void>;
  /** The cells of a picture that has stayed on the card, or is burned again. @throws Cancelled. */
  cellsOf(work: SwathWork, hooks: Pick<SwathHooks, 'signal' | 'onSwath'>): Promise<void>;
}

/** A card that was lost as often is left alone. */
const MOST_LOSSES = 2;

/** Arithmetic that takes a card longer than this, each time, is done in software, ms. */
const SOFTWARE_MS = 40;
const PACES = 3;

/** Rows of the trial for each worker of the pool, and at most; and how often each side burns it: the first time it compiles and lays films. */
const TRIAL_ROWS = 16;
const MOST_TRIAL_ROWS = 512;
const TRIALS = 2;

/** Codes of eight bits by which colours of the trial may differ, and the share of cells that may differ by more: at a threshold last digits decide. */
const MOST_CODES = 1;
const MOST_ODD = 0.001;

export function createCardRunner(pool: SwathRunner): CardRunner {
  let session: CardSession | null = null;
  let losses = 0;
  /** Whether the card has won its trial, and why the pool burns where it has not. */
  let verdict: 'untried' | 'card' | 'pool' = 'untried';
  let why = '';
  let lastOnCard = false;
  let lastReady = false;
  let queue: Promise<unknown> = Promise.resolve();

  const layOf = ({ job, grid }: SwathWork, onShare: SwathHooks['onShare'] = () => {}): LayRows => {
    let laid = 0;
    return async (y0, rows) => {
      const lying = await pool.lay({ jobId: job.id, y0, rows });
      laid += rows;
      onShare(laid / grid.height);
      return lying;
    };
  };

  /** What the card gives, or null where the pool is to do it. One at a time: the card holds one picture. */
  function onCard<Value>(
    work: SwathWork,
    { signal, onShare }: SwathHooks,
    burn: (card: CardSession) => Promise<Value>,
  ): Promise<Value | null> {
    const turn = queue.then(async () => {
      const card = session;
      if (!card || verdict === 'pool' || !cardTakes(work, card.mostTexels)) return null;
      signal?.throwIfAborted();
      pool.start(work.job);
      try {
        if (verdict === 'untried') await judge(card, work, signal);
        if (verdict !== 'card') return null;
        await card.hold(work, layOf(work, onShare), signal);
        return await burn(card);
      } catch (error) {
        if (error instanceof Cancelled || error instanceof RemoteLost) throw error;
        console.info(error);
        losses++;
        if (session === card) session = null;
        why = ': the graphics card failed';
        return null;
      }
    });
    queue = turn.catch(() => {});
    return turn;
  }

  async function judge(card: CardSession, work: SwathWork, signal?: AbortSignal): Promise<void> {
    const fault = await faultOf(card, work, signal);
    // Another one may have been offered meanwhile.
    if (session !== card) return;
    why = fault ?? '';
    verdict = why === '' ? 'card' : 'pool';
  }

  /** Why the pool is to be preferred; null if the card burns a part of the picture as the pool does, and sooner. */
  async function faultOf(card: CardSession, work: SwathWork, signal?: AbortSignal): Promise<string | null> {
    const slower = ': faster here than the card';
    let paceMs = Number.POSITIVE_INFINITY;
    for (let i = 0; i < PACES && paceMs > SOFTWARE_MS; i++) paceMs = Math.min(paceMs, await card.pace());
    if (paceMs > SOFTWARE_MS) return slower;
    const part = middleOf(work, pool.lanes);
    pool.start(part.job);
    await card.hold(part, layOf(part), signal);
    const own = await timed(() => card.read(0, part.grid.height));
    const theirs = await timed(() => burnOnPool(part, signal));
    if (!agree([own.value], theirs.value)) return ': the graphics card reckons otherwise';
    return own.ms < theirs.ms ? null : slower;
  }

  async function burnOnPool(work: SwathWork, signal?: AbortSignal): Promise<SwathResult[]> {
    const swaths: SwathResult[] = [];
    const onSwath = (swath: SwathResult) => swaths.push(swath);
    await runSwaths(pool, work, { signal, onSwath });
    return swaths;
  }

  async function cellsOnCard(card: CardSession, { grid }: SwathWork, signal?: AbortSignal): Promise<SwathResult[]> {
    const swaths: SwathResult[] = [];
    for (let y0 = 0; y0 < grid.height; y0 += card.bandRows) {
      swaths.push(soundSwath(await card.read(y0, Math.min(card.bandRows, grid.height - y0))));
      signal?.throwIfAborted();
    }
    return swaths;
  }

  async function cellsOf(work: SwathWork, hooks: SwathHooks): Promise<boolean> {
    const swaths = await onCard(work, hooks, (card) => cellsOnCard(card, work, hooks.signal));
    for (const swath of swaths ?? []) {
      hooks.onSwath?.(swath);
      // Whoever sums it up takes a while; a newer wish must not have to wait for all of it.
      await breathe(hooks.signal);
    }
    return swaths !== null;
  }

  async function stay(work: SwathWork, hooks: SwathHooks, onLying: NonNullable<SwathHooks['onLying']>) {
    const found = await onCard(work, hooks, async (card) => {
      const { stats, opensWood } = await card.burn(hooks.signal);
      const nothing = { color: null, relief: null, through: null, fields: null };
      const swath = soundSwath({ y0: 0, rows: work.grid.height, backend: 'card', stats, ...nothing });
      return { swath, lying: { planes: await card.picture(), opensWood } };
    });
    if (!found) return false;
    onLying(found.lying);
    hooks.onSwath?.(found.swath);
    return true;
  }

  return {
    get lanes() {
      return pool.lanes;
    },
    get description() {
      return lastOnCard ? 'Burned on the graphics card' : `Burned by ${pool.description}${why}`;
    },
    start: pool.start,
    run: pool.run,
    lay: pool.lay,
    search: pool.search,
    warm: pool.warm,
    async burnWhole(work, hooks) {
      if (!isPicture(work)) return false;
      lastOnCard = hooks.onLying ? await stay(work, hooks, hooks.onLying) : await cellsOf(work, hooks);
      lastReady = lastOnCard;
      return lastOnCard;
    },
    async cellsOf(work, hooks) {
      if (!(await cellsOf(work, hooks))) await runSwaths(pool, work, hooks);
    },
    async prepare(work, signal) {
      lastReady = (await onCard(work, { signal }, (card) => card.flush().then(() => true))) ?? false;
    },
    get atOnce() {
      return lastReady && session !== null;
    },
    offer(card) {
      if (losses >= MOST_LOSSES) return;
      session = card;
      verdict = 'untried';
      why = '';
    },
    dispose: pool.dispose,
  };
}

/** Some rows from the middle of the picture, as a picture of its own that gives all lanes of a pool as much to do. */
function middleOf(work: SwathWork, lanes: number): SwathWork {
  const { job, grid } = work;
  const height = Math.min(TRIAL_ROWS * lanes, MOST_TRIAL_ROWS, grid.height);
  const firstY = Math.floor((grid.height - height) / 2);
  return {
    ...work,
    job: cutJob(job, 0, firstY, grid.width),
    grid: { ...grid, firstX: 0, firstY, height },
    swathRows: Math.ceil(height / lanes),
  };
}

async function timed<Value>(burn: () => Promise<Value>): Promise<{ readonly value: Value; readonly ms: number }> {
  for (let trial = 1; ; trial++) {
    const start = performance.now();
    const value = await burn();
    if (trial === TRIALS) return { value, ms: performance.now() - start };
  }
}

/** Whether two burns of the same cells look the same. */
function agree(one: readonly SwathResult[], other: readonly SwathResult[]): boolean {
  const colorsOf = (swaths: readonly SwathResult[]) => {
    const sorted = [...swaths].sort((a, b) => a.y0 - b.y0);
    const colors = new Uint8Array(sorted.reduce((sum, { color }) => sum + (color?.length ?? 0), 0));
    let at = 0;
    for (const { color } of sorted) {
      if (color) colors.set(color, at);
      at += color?.length ?? 0;
    }
    return colors;
  };
  const [a, b] = [colorsOf(one), colorsOf(other)];
  let odd = 0;
  for (let i = 0; i < a.length; i++) if (Math.abs(a[i] - b[i]) > MOST_CODES) odd++;
  return a.length === b.length && odd <= MOST_ODD * a.length;
}
