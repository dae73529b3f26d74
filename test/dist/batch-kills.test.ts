import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { flatPhoto } from '../helpers/tiny-piece.ts';

const MAIN = resolve('dist/cli/main.js');
const KILLER = new URL('../campaign/kill-at-write.mjs', import.meta.url).href;

/** More are killed by `FOREBURN_KILLS=200 npx vitest run --project built test/dist/batch-kills.test.ts`. */
const KILLS = Number(process.env['FOREBURN_KILLS'] ?? 3);

const NAMES = ['barge', 'cottage', 'rocks'];

let folder: string;
beforeAll(async () => {
  if (!existsSync(MAIN)) throw new Error('dist/cli is missing: run "npm run build" first');
  folder = mkdtempSync(join(tmpdir(), 'foreburn-batch-'));
  const piece = createPiece('Template', 'template.jpg');
  const passes = [{ ...piece.passes[0], rowPitchMm: 0.3 }];
  writeFileSync(
    join(folder, 'piece.json'),
    JSON.stringify({ ...piece, slab: { ...piece.slab, widthMm: 10, heightMm: 8 }, passes }),
  );
  for (const [i, name] of NAMES.entries()) writeFileSync(join(folder, `${name}.jpg`), await flatPhoto(120 + 40 * i));
  writeFileSync(join(folder, 'list.csv'), ['photo', ...NAMES.map((name) => `${name}.jpg`)].join('\n'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const batch = (out: string, env = {}) =>
  spawnSync(
    process.execPath,
    ['--import', KILLER, MAIN, 'batch', 'list.csv', '--piece', 'piece.json', '--out', out, '--json']
      .concat(['--papers', 'html', '--date', '2031-05-02'])
      .concat(['--only', 'piece', '--only', 'quote', '--only', 'job']),
    { cwd: folder, encoding: 'utf8', env: { ...process.env, ...env } },
  );

/** Contents of all files by their paths. */
const look = (out: string): Map<string, string> =>
  new Map(
    readdirSync(join(folder, out), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) => join(entry.parentPath, entry.name))
      .map((path) => [
        path.slice(join(folder, out).length + 1),
        createHash('sha256').update(readFileSync(path)).digest('hex'),
      ]),
  );

const statusOf = (stdout: string): string[] => JSON.parse(stdout).rows.map(({ status }: { status: string }) => status);

test('killed at any write and run again, a batch loses nothing and does nothing twice', () => {
  const counted = join(folder, 'count');
  const ran = batch('whole', { FOREBURN_COUNT_TO: counted });
  expect(ran.stderr).toBe('');
  const writes = Number(readFileSync(counted, 'utf8'));
  const whole = look('whole');
  expect(whole.size).toBe(NAMES.length * 7 + 2);
  for (let i = 0; i < KILLS; i++) {
    const at = Math.max(1, Math.round(((i + 0.5) * writes) / KILLS));
    rmSync(join(folder, 'killed'), { recursive: true, force: true });
    expect(batch('killed', { FOREBURN_KILL_AT: String(at) }).signal, `write ${at}`).toBe('SIGKILL');
    const record = (name: string): string => {
      const path = join(folder, 'killed', name, 'row.json');
      return existsSync(path) ? `${statSync(path).ino} ${statSync(path).mtimeMs}` : '';
    };
    const before = NAMES.map(record);
    // Rows are done one after another: those before the kill are whole.
    for (const [path, sha] of existsSync(join(folder, 'killed')) ? look('killed') : [])
      if (whole.has(path) && !path.startsWith('report')) expect(sha, `${path} after write ${at}`).toBe(whole.get(path));
    const again = batch('killed');
    expect(again.stderr).toBe('');
    const kept = statusOf(again.stdout);
    expect(kept, `write ${at}`).toEqual(before.map((there) => (there === '' ? 'done' : 'kept')));
    for (const [j, name] of NAMES.entries()) if (before[j] !== '') expect(record(name)).toBe(before[j]);
    const after = look('killed');
    expect([...after.keys()].sort()).toEqual([...whole.keys()].sort());
    for (const [path, sha] of whole) if (!path.startsWith('report')) expect(after.get(path), path).toBe(sha);
  }
}, 300_000);
