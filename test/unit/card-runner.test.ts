import { beforeAll, describe, expect, test } from 'vitest';
import { DeviceLost } from '../../src/base/card-watch.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import {
  createInlineRunner,
  type LyingPicture,
  runSwaths,
  type SwathRunner,
  type SwathWork,
} from '../../src/burn/runner.ts';
import type { SwathResult } from '../../src/burn/swath-task.ts';
import { cardTakes } from '../../src/page/burn/card/card-plan.ts';
import { createCardRunner } from '../../src/page/burn/card/card-runner.ts';
import type { CardSession } from '../../src/page/burn/card/card-session.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { pictureOf, plainPiece } from '../helpers/burn.ts';
import { burnByReference } from '../helpers/reference-burn.ts';

const SURFACE = { surface: true, fields: false, painted: false };
const PICTURE = pictureOf(24, 20, (x, y) => ((x + y) % 7) / 6);
const piece = plainPiece(24);

/** What is burned of a piece, without burning it. */
async function workOf(of: Piece, collect = SURFACE): Promise<SwathWork> {
  let work: SwathWork | null = null;
  const runner: SwathRunner = {
    ...createInlineRunner(burnByReference),
    async burnWhole(asked) {
      work = asked;
      return true;
    },
  };
  await createProofPipeline().proof(
    { piece: of, photo: { key: 'x', picture: PICTURE, castless: null }, collect },
    runner,
  );
  if (!work) throw new Error('nothing was to be burned');
  return work;
}

let work: SwathWork;
let cells: SwathResult;
beforeAll(async () => {
  work = await workOf(piece);
  await runSwaths(
    createInlineRunner(burnByReference),
    { ...work, swathRows: 99 },
    {
      onSwath: (swath) => {
        cells = swath;
      },
    },
  );
});

interface Behaviour {
  readonly paceMs?: number;
  readonly readMs?: number;
  readonly off?: number;
  /** Burns and readings until it is lost. */
  readonly lives?: number;
}

/** A card that gives what the processor gives, or not. */
function card({ paceMs = 1, readMs = 0, off = 0, lives = Number.POSITIVE_INFINITY }: Behaviour = {}) {
  let left = lives;
  let first = 0;
  const asked: string[] = [];
  const wear = (what: string) => {
    asked.push(what);
    left--;
    if (left < 0) throw new DeviceLost('gone');
  };
  const session = {
    bandRows: 8,
    mostTexels: 8192,
    pace: async () => paceMs,
    flush: async () => {},
    async hold({ grid }: SwathWork) {
      first = grid.firstY ?? 0;
    },
    async burn() {
      wear('burn');
      return { stats: cells.stats, opensWood: true };
    },
    picture: async () => new Uint8Array(3),
    async read(y0: number, rows: number) {
      wear('read');
      if (readMs > 0) await new Promise((resolve) => setTimeout(resolve, readMs));
      const width = cells.color!.length / 4 / cells.rows;
      const cut = <Values extends Uint8Array | Uint16Array>(values: Values, per: number) =>
        values.slice(per * (first + y0) * width, per * (first + y0 + rows) * width) as Values;
      const color = cut(cells.color!, 4).map((code) => (code > 128 ? code - off : code + off));
      return { ...cells, y0, rows, color, relief: cut(cells.relief!, 2), through: cut(cells.through!, 1) };
    },
  };
  return { session: session as unknown as CardSession, asked };
}

/** A pool that takes its time, so that a card is quicker. */
function slowPool(ms = 20): SwathRunner {
  const pool = createInlineRunner(burnByReference);
  return {
    ...pool,
    description: 'one worker',
    async run(task) {
      await new Promise((resolve) => setTimeout(resolve, ms));
      return pool.run(task);
    },
  };
}

async function burn(runner: SwathRunner, stay = false) {
  const swaths: SwathResult[] = [];
  const lying: boolean[] = [];
  await runSwaths(runner, work, {
    onSwath: (swath) => swaths.push(swath),
    ...(stay && { onLying: ({ opensWood }: LyingPicture) => lying.push(opensWood) }),
  });
  return { swaths, lying, rows: swaths.reduce((sum, { rows }) => sum + rows, 0) };
}

describe('a pool with a graphics card', () => {
  test('burns by itself without one', async () => {
    const runner = createCardRunner(slowPool());
    expect((await burn(runner)).rows).toBe(work.grid.height);
    expect(runner.description).toBe('Burned by one worker');
  });

  test('leaves pictures to a card that is quicker and reckons alike', async () => {
    const runner = createCardRunner(slowPool());
    runner.offer(card().session);
    expect((await burn(runner)).swaths.map(({ y0 }) => y0)).toEqual([0, 8, 16]);
    expect(runner.description).toBe('Burned on the graphics card');
    expect(runner.atOnce).toBe(true);
  });

  test('hands on counts only where a picture stays on the card, and its cells when they are asked for', async () => {
    const runner = createCardRunner(slowPool());
    runner.offer(card().session);
    const { swaths, lying } = await burn(runner, true);
    expect(swaths).toMatchObject([{ y0: 0, rows: work.grid.height, color: null, stats: cells.stats }]);
    expect(lying).toEqual([true]);
    const rows: number[] = [];
    await runner.cellsOf(work, { onSwath: (swath) => rows.push(swath.rows) });
    expect(rows).toEqual([8, 8, work.grid.height - 16]);
  });

  test.each([
    ['draws in software', { paceMs: 500 }, 'faster here than the card'],
    ['is slower', { readMs: 400 }, 'faster here than the card'],
    ['reckons otherwise', { off: 40 }, 'the graphics card reckons otherwise'],
  ])('burns by itself where the card %s', async (_, behaviour, why) => {
    const runner = createCardRunner(slowPool());
    runner.offer(card(behaviour).session);
    expect((await burn(runner)).rows).toBe(work.grid.height);
    expect(runner.description).toBe(`Burned by one worker: ${why}`);
    expect(runner.atOnce).toBe(false);
  });

  test('burns all of a picture with which the card was lost, tries one that comes back, and leaves it alone then', async () => {
    const runner = createCardRunner(slowPool());
    for (const stay of [false, true]) {
      // Two readings are the trial's.
      runner.offer(card({ lives: 2 }).session);
      const { rows, lying } = await burn(runner, stay);
      expect(rows).toBe(work.grid.height);
      expect(lying).toEqual([]);
      expect(runner.description).toBe('Burned by one worker: the graphics card failed');
    }
    const third = card();
    runner.offer(third.session);
    expect((await burn(runner)).rows).toBe(work.grid.height);
    expect(third.asked).toEqual([]);
  });

  test('has a card ready that was tried after the pool has burned', async () => {
    const runner = createCardRunner(slowPool());
    await burn(runner);
    runner.offer(card().session);
    await runner.prepare(work);
    expect(runner.atOnce).toBe(true);
    runner.offer(null);
    expect(runner.atOnce).toBe(false);
  });
});

describe('a card takes', () => {
  const takes = (asked: SwathWork) => cardTakes(asked, 8192);

  const along = (headingRad: number) => workOf({ ...piece, passes: [{ ...piece.passes[0], headingRad }] });

  test('passes along the cells, either way, and leaves those across to the pool', async () => {
    expect(takes(await along(0))).toBe(true);
    expect(takes(await along(Math.PI))).toBe(true);
    expect(takes(await along(Math.PI / 2))).toBe(false);
    expect(takes(await along(0.3))).toBe(false);
  });

  test('no part of a picture, no fields, and no source that is late by many dots', async () => {
    expect(takes({ ...work, grid: { ...work.grid, firstX: 3 } })).toBe(false);
    expect(takes(await workOf(piece, { ...SURFACE, fields: true }))).toBe(false);
    const { machine } = piece;
    const late = { ...piece, machine: { ...machine, source: { ...machine.source, riseTimeS: 0.05 } } };
    expect(takes(await workOf(late))).toBe(false);
  });

  test('what fits into its textures, three planes of it in one', async () => {
    const sized = (width: number, height: number) => takes({ ...work, grid: { ...work.grid, width, height } });
    expect(sized(8192, 2730)).toBe(true);
    expect(sized(8192, 2731)).toBe(false);
    expect(sized(2730, 8192)).toBe(true);
    expect(sized(8193, 100)).toBe(false);
  });

  test('as many coats and passes as one shader holds', async () => {
    const { coats } = piece.stack;
    const five = [...coats, ...coats, coats[0]];
    expect(takes(await workOf({ ...piece, stack: { ...piece.stack, coats: five } }))).toBe(false);
    expect(takes(await workOf({ ...piece, passes: Array(8).fill(piece.passes[0]) }))).toBe(true);
    expect(takes(await workOf({ ...piece, passes: Array(9).fill(piece.passes[0]) }))).toBe(false);
  });
});
