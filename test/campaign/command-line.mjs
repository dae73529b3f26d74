/**
 * Kills the built command line in the middle of its writes and looks whether anything was lost:
 * `node test/campaign/command-line.mjs [--kills N] [--seed S]` (default 1000; needs `npm run build:cli`).
 *
 * After each kill every file of the maker's is byte for byte the old one or the new one; every fourth time the command is run once more,
 * has to go through and leave nothing of ours behind. Also: writers that fight for one shelf and one folder, and, for root, a disk that is full.
 */
import { spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';

const MAIN = resolve('dist/cli/main.js');
const KILLER = new URL('./kill-at-write.mjs', import.meta.url).href;

const { values } = parseArgs({ options: { kills: { type: 'string' }, seed: { type: 'string' } } });

/** Commands that write, quick ones; each is run in a folder that holds what it reads. */
const COMMANDS = [
  ['shelf', 'add', 'second', '--piece', 'calibrated.json'],
  ['shelf', 'import', 'other-shelf.json'],
  ['shelf', 'export', '--out', 'sent.json'],
  ['shelf', 'take', 'first', '--piece', 'piece.json', '--out', 'taken.foreburn'],
  ['read', '--card', 'card.json', '--seen', 'shows=3,clears=5', '--out', 'reading.json'],
  ['prepare', 'photo.png', '--piece', 'piece.json', '--out', 'prepared.png'],
  ['job', 'photo.png', '--piece', 'piece.json', '--out', 'job'],
  ['demo', '--width-px', '64', '--out', 'demo.png'],
  ['card', 'check-strip', '--size', '58x36', '--out', 'new-card'],
  ['proof', 'photo.png', '--piece', 'piece.json', '--tries', '0', '--out', 'proof'],
  ['quote', 'photo.png', '--piece', 'piece.json', '--out', 'quote.html'],
  ['sheet', 'photo.png', '--piece', 'piece.json', '--out', 'sheet.html'],
];

/** Without the one that computes longest: a quote is a paper that is written in the same way. */
export const QUICK_COMMANDS = COMMANDS.filter(([name]) => name !== 'sheet');

function run(argv, folder, env = {}) {
  return spawnSync(process.execPath, ['--import', KILLER, MAIN, ...argv], {
    cwd: folder,
    encoding: 'utf8',
    env: { ...process.env, ...env },
    timeout: 120_000,
  });
}

/** What the commands read, and an old version of what they write. */
function prepareFolder(root) {
  const base = join(root, 'base');
  mkdirSync(base);
  const must = (argv) => {
    const ran = run(argv, base);
    if (ran.status !== 0) throw new Error(`${argv.join(' ')}: ${ran.stderr}`);
  };
  must(['demo', '--width-px', '96', '--out', 'photo.png']);
  must(['card', 'check-strip', '--size', '58x36', '--out', 'card']);
  must(['proof', 'photo.png', '--width-mm', '12', '--tries', '0', '--out', 'first']);
  const { settings } = JSON.parse(readFileSync(join(base, 'first/report.json'), 'utf8'));
  writeFileSync(join(base, 'piece.json'), JSON.stringify(settings));
  const calibrated = { ...settings, certainty: { ...settings.certainty, source: 'calibrated' } };
  writeFileSync(join(base, 'calibrated.json'), JSON.stringify(calibrated));
  must(['shelf', 'add', 'first', '--piece', 'calibrated.json']);
  must(['shelf', 'add', 'third', '--piece', 'calibrated.json', '--shelf', 'other-shelf.json']);
  for (const name of [
    'sent.json',
    'taken.foreburn',
    'reading.json',
    'prepared.png',
    'demo.png',
    'new-card.json',
    'quote.html',
    'sheet.html',
  ])
    writeFileSync(join(base, name), `an old ${name}, whole`);
  return base;
}

const isOurs = (name) => /\.(unfinished|asked|taken)-[0-9a-f]{8}-\d+-[0-9a-f]{12}$/.test(name);

/** Contents by path; names of ours apart. */
function look(folder) {
  const files = new Map();
  const ours = [];
  for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
    if (!entry.isFile()) continue;
    const path = join(entry.parentPath, entry.name);
    if (isOurs(entry.name)) ours.push(path);
    else files.set(path.slice(folder.length + 1), createHash('sha256').update(readFileSync(path)).digest('hex'));
  }
  return { files, ours };
}

/** What a run says of its own clock is left out of comparisons. */
const VARIES = new Set(['proof/report.json']);

/** After how many kills the command is run once more to its end: a number that has no factor in common with that of the commands. */
const AGAIN_EACH = 4;

function killOften(root, base, { commands, kills, seed, log }) {
  const old = look(base).files;
  const plans = commands.map((argv) => {
    const folder = join(root, 'whole');
    rmSync(folder, { recursive: true, force: true });
    cpSync(base, folder, { recursive: true });
    const counted = join(root, 'count');
    const ran = run(argv, folder, { FOREBURN_COUNT_TO: counted });
    if (ran.status !== 0) throw new Error(`${argv.join(' ')}: ${ran.stderr}`);
    return { argv, whole: look(folder).files, writes: Number(readFileSync(counted, 'utf8')) };
  });
  log(`writes a command: ${plans.map(({ argv, writes }) => `${argv.slice(0, 2).join(' ')} ${writes}`).join(', ')}`);
  const faults = [];
  let done = 0;
  let random = seed >>> 0;
  const next = (below) => {
    random = (Math.imul(random, 1664525) + 1013904223) >>> 0;
    return Math.floor((random / 2 ** 32) * below);
  };
  // Each write of each command is met in turn from a seeded beginning, so that a few kills meet all commands.
  for (let i = 0; i < kills; i++) {
    const { argv, whole, writes } = plans[i % plans.length];
    const at = 1 + next(writes);
    const folder = join(root, 'killed');
    rmSync(folder, { recursive: true, force: true });
    cpSync(base, folder, { recursive: true });
    const what = `${argv.join(' ')} killed at write ${at}`;
    const ran = run(argv, folder, { FOREBURN_KILL_AT: String(at) });
    if (ran.signal !== 'SIGKILL') faults.push(`${what}: it was not killed (${ran.status} ${ran.stderr})`);
    if (ran.stdout !== '' && ran.stdout !== null) faults.push(`${what}: it had told that it was done`);
    for (const [path, sha] of look(folder).files) {
      if (sha === old.get(path) || sha === whole.get(path) || VARIES.has(path)) continue;
      faults.push(`${what}: ${path} is neither the old nor the new one`);
    }
    for (const path of old.keys()) if (!existsSync(join(folder, path))) faults.push(`${what}: ${path} is gone`);
    if (existsSync(join(folder, 'proof/report.json')))
      JSON.parse(readFileSync(join(folder, 'proof/report.json'), 'utf8'));
    done++;
    if (done % 100 === 0) log(`${done} kills, ${faults.length} faults`);
    if (i % AGAIN_EACH !== 0) continue;
    const again = run(argv, folder);
    if (again.status !== 0) faults.push(`${what}: the next run says ${again.stderr}`);
    const { files, ours } = look(folder);
    if (ours.length > 0) faults.push(`${what}: ${ours} are left after the next run`);
    for (const [path, sha] of whole) {
      if (files.get(path) !== sha && !VARIES.has(path))
        faults.push(`${what}: ${path} is not the new one after the next run`);
    }
  }
  return { done, faults };
}

const start = (argv, folder) =>
  new Promise((settle) => {
    const child = spawn(process.execPath, [MAIN, ...argv], { cwd: folder });
    let out = '';
    let error = '';
    child.stdout.on('data', (data) => {
      out += data;
    });
    child.stderr.on('data', (data) => {
      error += data;
    });
    child.on('close', (status) => settle({ status, out, error }));
  });

async function fight(root, base, rounds) {
  const faults = [];
  for (let round = 0; round < rounds; round++) {
    const folder = join(root, `fight-${round}`);
    cpSync(base, folder, { recursive: true });
    const adds = Array.from({ length: 6 }, (_, i) => ['shelf', 'add', `writer ${i}`, '--piece', 'calibrated.json']);
    const added = await Promise.all(adds.map((argv) => start(argv, folder)));
    const { entries } = JSON.parse(readFileSync(join(folder, 'shelf.json'), 'utf8'));
    const told = added.filter(({ status }) => status === 0).length;
    if (entries.length !== 1 + told || told !== 6) faults.push(`shelf: ${told} told done, ${entries.length - 1} there`);

    const jobs = ['60', '61', '62'].map((power) => [
      'job',
      'photo.png',
      '--piece',
      'piece.json',
      '--light-end',
      power,
      '--out',
      'job',
      '--json',
    ]);
    const ran = await Promise.all(jobs.map((argv) => start(argv, folder)));
    const winners = ran.filter(({ status }) => status === 0);
    // Who began after another had ended writes over it, as it should: then the last one's numbers are those that stand.
    const standing = (files) =>
      files.every(
        ({ path, sha256 }) =>
          createHash('sha256')
            .update(readFileSync(join(folder, path)))
            .digest('hex') === sha256,
      );
    if (!winners.some(({ out }) => standing(JSON.parse(out).files))) faults.push('job: nobody told what stands there');
    for (const { error } of ran.filter(({ status }) => status !== 0)) {
      if (!error.includes('another foreburn')) faults.push(`job: refused with "${error}"`);
    }
    if (look(folder).ours.length > 0) faults.push('fight: names of ours are left');
    rmSync(folder, { recursive: true, force: true });
  }
  return faults;
}

/** Each command on a disk of which ever less is free; needs the right to mount one, else null. */
function fillDisk(root, base, { commands, freeKbs }) {
  const disk = join(root, 'disk');
  mkdirSync(disk);
  if (spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=3m', 'tmpfs', disk]).status !== 0) return null;
  const faults = [];
  try {
    for (const argv of commands) {
      for (const freeKb of freeKbs) {
        rmSync(join(disk, 'work'), { recursive: true, force: true });
        rmSync(join(disk, 'filler'), { force: true });
        cpSync(base, join(disk, 'work'), { recursive: true });
        const before = look(join(disk, 'work')).files;
        const room = spawnSync('df', ['--output=avail', '-k', disk], { encoding: 'utf8' }).stdout.split('\n')[1];
        writeFileSync(join(disk, 'filler'), Buffer.alloc(1024 * Math.max(0, Number(room) - freeKb)));
        const ran = run(argv, join(disk, 'work'));
        if (ran.status === 0) continue;
        const what = `${argv.join(' ')} with ${freeKb} kB free`;
        if (!ran.stderr.includes('the disk is full')) faults.push(`${what}: says "${ran.stderr}"`);
        const { files, ours } = look(join(disk, 'work'));
        if (ours.length > 0) faults.push(`${what}: ${ours} are left`);
        if (JSON.stringify([...files]) !== JSON.stringify([...before])) faults.push(`${what}: files have changed`);
      }
    }
  } finally {
    spawnSync('umount', [disk]);
  }
  return faults;
}

/** @returns {Promise<{ kills: number, faults: string[], diskTried: boolean }>} */
export async function campaign({ commands = COMMANDS, kills, rounds, seed, freeKbs = [0, 4, 24], log = () => {} }) {
  const root = mkdtempSync(join(tmpdir(), 'foreburn-campaign-'));
  try {
    const base = prepareFolder(root);
    const killed = killOften(root, base, { commands, kills, seed, log });
    const fought = await fight(root, base, rounds);
    const filled = fillDisk(root, base, { commands, freeKbs });
    return {
      kills: killed.done,
      faults: [...killed.faults, ...fought, ...(filled ?? [])],
      diskTried: filled !== null,
    };
  } finally {
    rmSync(root, { recursive: true, force: true });
  }
}

if (process.argv[1] && pathToFileURL(process.argv[1]).href === import.meta.url) {
  if (!existsSync(MAIN)) throw new Error('dist/cli is missing: run "npm run build:cli" first');
  const kills = Number(values.kills ?? 1000);
  const result = await campaign({ kills, rounds: 20, seed: Number(values.seed ?? 1), log: console.log });
  console.log(`${result.kills} kills, disk filled: ${result.diskTried}, ${result.faults.length} faults`);
  for (const fault of result.faults) console.log(fault);
  process.exitCode = result.faults.length === 0 ? 0 : 1;
}
