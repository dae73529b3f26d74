import { spawn } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { parseArgs } from 'node:util';
import { createDice } from './dice.ts';
import { FORMATS } from './formats/all.ts';
import { judge } from './judge.ts';

/**
 * The long campaign: `npm run fuzz -- --minutes 10 [--seed 1] [--format svg] [--out out/fuzz]`. Cases are made and read in a process of
 * its own, which is ended when one hangs or takes too much memory; what went wrong is written to a folder, a file per case. A find that
 * is cured goes to `test/fixtures/input`, where a test reads it for good.
 */
const LIMIT = { hangsMs: 20_000, cpuMs: 2000, bytes: 500e6 } as const;
/** Cases of a format in a row, before the next one has its turn. */
const ROUND = 500;

const { values } = parseArgs({
  options: {
    minutes: { type: 'string', default: '1' },
    seed: { type: 'string', default: '1' },
    format: { type: 'string' },
    out: { type: 'string', default: 'out/fuzz' },
    child: { type: 'string' },
  },
});
const seed = values.seed;

/** What a child tells of a case: that it begins, that it is done (with what is wrong), or, after the last one, nothing more. */
type Told = { readonly begins: number } | { readonly done: number; readonly fault: string | null };

const make = (name: string, index: number) => FORMATS[name].make(createDice(name, seed, index));

async function child(name: string, from: number): Promise<void> {
  const tell = (told: Told) => process.stdout.write(`${JSON.stringify(told)}\n`);
  for (let index = from; index < from + ROUND; index++) {
    tell({ begins: index });
    // So that whoever watches knows of the case before it may hang.
    await new Promise((resolve) => setImmediate(resolve));
    const made = await make(name, index);
    const before = { cpu: process.cpuUsage(), peak: process.resourceUsage().maxRSS };
    let fault = await judge(FORMATS[name], made);
    const { user, system } = process.cpuUsage(before.cpu);
    const grown = 1024 * (process.resourceUsage().maxRSS - before.peak);
    if (!fault && user + system > 1000 * LIMIT.cpuMs)
      fault = `${Math.round((user + system) / 1000)} ms of processor time`;
    if (!fault && grown > LIMIT.bytes) fault = `${Math.round(grown / 1e6)} MB of memory`;
    tell({ done: index, fault });
  }
}

interface Round {
  readonly next: number;
  readonly finds: readonly { readonly index: number; readonly fault: string }[];
}

/** One round of a format in a child; a case that ends it is a find too, and the next round begins behind it. */
function round(name: string, from: number): Promise<Round> {
  const finds: { index: number; fault: string }[] = [];
  let open = from;
  let next = from;
  return new Promise((resolve) => {
    const started = spawn(process.execPath, [process.argv[1], '--seed', seed, '--format', name, '--child', `${from}`], {
      stdio: ['ignore', 'pipe', 'ignore'],
    });
    let hung = false;
    const expire = () => {
      hung = true;
      started.kill('SIGKILL');
    };
    let timer = setTimeout(expire, 60_000);
    createInterface(started.stdout).on('line', (line) => {
      const told = JSON.parse(line) as Told;
      clearTimeout(timer);
      if ('begins' in told) {
        open = told.begins;
        timer = setTimeout(expire, LIMIT.hangsMs);
      } else {
        next = told.done + 1;
        timer = setTimeout(expire, 60_000);
        if (told.fault) finds.push({ index: told.done, fault: told.fault });
      }
    });
    started.on('close', (status) => {
      clearTimeout(timer);
      if (next < from + ROUND) {
        finds.push({ index: open, fault: hung ? 'no answer' : `the process ended (${status})` });
        next = open + 1;
      }
      resolve({ next, finds });
    });
  });
}

async function campaign(): Promise<void> {
  const names = values.format ? [values.format] : Object.keys(FORMATS);
  if (!names.every((name) => Object.hasOwn(FORMATS, name))) {
    throw new Error(`--format: one of ${Object.keys(FORMATS).join(', ')}`);
  }
  const until = performance.now() + 60_000 * Number(values.minutes);
  const count = new Map(names.map((name) => [name, { cases: 0, finds: 0 }]));
  mkdirSync(values.out, { recursive: true });
  while (performance.now() < until) {
    for (const name of names) {
      if (performance.now() >= until) break;
      const so = count.get(name)!;
      const { next, finds } = await round(name, so.cases);
      so.cases = next;
      so.finds += finds.length;
      for (const { index, fault } of finds) {
        const file = join(values.out, `${name}-${seed}-${index}`);
        writeFileSync(file, (await make(name, index)).bytes);
        process.stdout.write(`${file}: ${fault}\n`);
      }
    }
  }
  for (const [name, { cases, finds }] of count)
    process.stdout.write(`${name.padEnd(12)}${cases} cases, ${finds} finds\n`);
  process.exitCode = [...count.values()].some(({ finds }) => finds > 0) ? 1 : 0;
}

if (values.child === undefined) await campaign();
else await child(values.format!, Number(values.child));
