import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { link, mkdir, readdir, readFile, stat, symlink, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { createOutputs, pathBeside, take } from '../../src/cli/outputs.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { importShelf } from '../../src/studies/calibrate/shelf/shelf.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let photo = '';
let piece = '';
beforeAll(async () => {
  folder = await temporaryFolder();
  photo = folder.file('ramp.png');
  const data = Uint8Array.from({ length: 90 * 60 }, (_, i) => Math.round((255 * (i % 90)) / 89));
  await sharp(data, { raw: { width: 90, height: 60, channels: 1 } })
    .png()
    .toFile(photo);
  piece = folder.file('piece.json');
  const made = createPiece('Ramp', 'ramp.png');
  await writeFile(piece, JSON.stringify({ ...made, picture: { ...made.picture, widthMm: 20 } }));
});
afterAll(() => folder.remove());

const sha256 = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');
const ours = async (path: string): Promise<string[]> => (await readdir(path)).filter((name) => name.startsWith('.'));

describe('what is read is not written over', () => {
  const cases: readonly [string, () => string[], () => string][] = [
    ['prepare over its photograph', () => ['prepare', photo, '--out', photo], () => photo],
    ['prepare over its piece', () => ['prepare', photo, '--piece', piece, '--out', piece], () => piece],
    ['a mock-up over its photograph', () => ['mockup', photo, '--out', photo], () => photo],
    ['a strip over its piece', () => ['strip', photo, '--piece', piece, ...STRIP, '--out', piece], () => piece],
    ['a fit over its reading', () => ['fit', photo, '--card', piece, '--piece', piece, '--out', photo], () => photo],
    ['a fit over its card', () => ['fit', photo, '--card', piece, '--piece', photo, '--out', piece], () => piece],
    ['a reading over its card', () => ['read', '--card', piece, '--pair', '2', '--out', piece], () => piece],
    [
      'a piece that takes numbers over their shelf',
      () => ['shelf', 'take', 'x', '--shelf', piece, '--piece', photo, '--out', piece],
      () => piece,
    ],
    ['a shelf sent out over itself', () => ['shelf', 'export', '--shelf', piece, '--out', piece], () => piece],
    ['a shelf that takes itself in', () => ['shelf', 'import', piece, '--shelf', piece], () => piece],
    [
      'rescue over the photograph of the burned piece',
      () => ['rescue', '--piece', piece, '--photo-of-piece', photo, '--out', photo],
      () => photo,
    ],
  ];
  const STRIP = ['--crop', '2,2,8,6', '--from', '50', '--to', '70'];

  test.each(cases)('%s', async (_, argv, path) => {
    const before = await readFile(path());
    const ran = await runCli(argv());
    expect(ran.error).toContain('is read by this command and would be written over: give another name');
    expect(ran.code).toBe(2);
    expect((await readFile(path())).equals(before)).toBe(true);
  });

  test('by whatever name the file goes', async () => {
    await link(photo, folder.file('hard.png'));
    await symlink(photo, folder.file('soft.png'));
    for (const name of ['hard.png', 'soft.png', 'missing/../ramp.png', './ramp.png']) {
      if (name.startsWith('missing')) await mkdir(folder.file('missing'), { recursive: true });
      const ran = await runCli(['prepare', photo, '--out', join(folder.path, name)]);
      expect(ran.error, name).toContain('would be written over');
    }
  });
});

describe('the place is looked at before the work', () => {
  const missing = () => folder.file('nowhere/out.x');
  test.each([
    ['demo', () => ['demo', '--out', folder.file('nowhere/a.png')]],
    ['prepare', () => ['prepare', photo, '--out', missing()]],
    ['mockup', () => ['mockup', photo, '--out', folder.file('nowhere/a.png')]],
    ['sheet', () => ['sheet', photo, '--out', folder.file('nowhere/a.html')]],
    ['quote', () => ['quote', photo, '--out', folder.file('nowhere/a.html')]],
    ['rescue', () => ['rescue', photo, '--out', missing()]],
    ['strip', () => ['strip', photo, '--crop', '2,2,8,6', '--from', '50', '--to', '70', '--out', missing()]],
    ['card', () => ['card', 'check-strip', '--out', missing()]],
    ['proof', () => ['proof', photo, '--out', photo]],
    ['choose', () => ['choose', photo, '--out', join(photo, 'below')]],
    ['job', () => ['job', photo, '--out', photo]],
  ])('%s', async (_, argv) => {
    // The clock of these runs goes on by 10 ms each time it is asked: who has worked has asked it.
    const ran = await runCli(argv());
    expect(ran.code).toBe(1);
    expect(ran.error).toMatch(/could not be written: (there is no such folder|a file has the name|part of its path)/);
    expect(ran.out).toBe('');
  });

  test('what is no ordinary file is left alone', async () => {
    const ran = await runCli(['prepare', photo, '--out', '/dev/null']);
    expect(ran).toMatchObject({ code: 1, out: '' });
    expect(ran.error).toContain('it is no ordinary file');
  });
});

describe('whole files or none', () => {
  let at: Awaited<ReturnType<typeof temporaryFolder>>;
  beforeEach(async () => {
    at = await temporaryFolder();
    return () => at.remove();
  });

  const stopped = async (work: (outputs: ReturnType<typeof createOutputs>) => Promise<unknown>) => {
    const outputs = createOutputs([]);
    try {
      await work(outputs);
      await outputs.commit();
    } finally {
      await outputs.close();
    }
  };

  test('a disk that fills up while the second file is written leaves both old ones', async () => {
    for (const name of ['one', 'two']) await writeFile(at.file(name), `old ${name}`);
    function* parts() {
      yield { bytes: new Uint8Array(10), share: 0.5 };
      throw Object.assign(new Error('no space left'), { code: 'ENOSPC' });
    }
    const work = stopped(async (outputs) => {
      await outputs.claimFolder(at.path);
      await outputs.write(at.file('one'), 'new one');
      await outputs.write(at.file('two'), parts());
    });
    await expect(work).rejects.toThrow(
      `${at.file('two')} could not be written: the disk is full. What stood there before is unchanged.`,
    );
    for (const name of ['one', 'two']) expect(await readFile(at.file(name), 'utf8')).toBe(`old ${name}`);
    expect((await readdir(at.path)).sort()).toEqual(['one', 'two']);
  });

  test('a check that finds a fault keeps all files of the command back', async () => {
    const work = stopped(async (outputs) => {
      await outputs.claimFolder(at.file('made/for/it'));
      await outputs.write(at.file('made/for/it/one'), 'fine');
      await outputs.write(at.file('made/for/it/two'), 'bad', {
        check: async (path) => {
          if ((await readFile(path, 'utf8')) === 'bad') throw new Error('found bad');
        },
      });
    });
    await expect(work).rejects.toThrow('found bad');
    expect(await readdir(at.path)).toEqual([]);
  });

  test('a refused job leaves no folder', async () => {
    const ran = await runCli(['job', photo, '--piece', piece, '--feed', '600000', '--out', at.file('job')]);
    expect(ran.code).toBe(1);
    expect(await readdir(at.path)).toEqual([]);
  });

  test('what is told of a file is what stands there, and nothing is told before', async () => {
    const told: string[] = [];
    const outputs = createOutputs([]);
    await outputs.claim(at.file('one'));
    told.push((await outputs.write(at.file('one'), 'text')).sha256);
    await expect(readFile(at.file('one'))).rejects.toThrow('ENOENT');
    await outputs.commit();
    await outputs.close();
    expect(told).toEqual([sha256(await readFile(at.file('one')))]);
    expect(await ours(at.path)).toEqual([]);
  });

  test('of two jobs into one folder one is refused, and the other’s numbers are those of what stands', async () => {
    const argv = (power: string) => [
      ...['job', photo, '--piece', piece, '--only', 'job', '--only', 'picture', '--light-end', power],
      ...['--out', at.file('job'), '--json'],
    ];
    for (let round = 0; round < 3; round++) {
      const ran = await Promise.all([runCli(argv('60')), runCli(argv('61'))]);
      expect(ran.map(({ code }) => code).sort()).toEqual([0, 1]);
      expect(ran.find(({ code }) => code === 1)?.error).toContain('is being written by another foreburn');
      for (const file of JSON.parse(ran.find(({ code }) => code === 0)!.out).files) {
        expect(sha256(await readFile(file.path))).toBe(file.sha256);
      }
    }
    expect(await ours(at.file('job'))).toEqual([]);
  });

  test('eighteen entries put on one shelf by six writers at once are all there', async () => {
    const calibrated = JSON.parse(await readFile(piece, 'utf8'));
    calibrated.certainty = { ...calibrated.certainty, source: 'calibrated' };
    await writeFile(at.file('piece.json'), JSON.stringify(calibrated));
    const writer = async (who: number) => {
      for (let turn = 0; turn < 3; turn++) {
        const argv = ['shelf', 'add', `entry ${who}.${turn}`, '--piece', at.file('piece.json')];
        expect(await runCli([...argv, '--shelf', at.file('shelf.json')])).toMatchObject({ code: 0, error: '' });
      }
    };
    await Promise.all([0, 1, 2, 3, 4, 5].map(writer));
    const { shelf, refused } = importShelf(await readFile(at.file('shelf.json'), 'utf8'));
    expect(refused).toEqual([]);
    expect(shelf.entries).toHaveLength(18);
    expect(await ours(at.path)).toEqual([]);
  });

  test('what a killed run left is swept, what a living one has is not', async () => {
    const script = `process.stdout.write(String(process.pid)); setTimeout(() => {}, 60000)`;
    const living = spawn(process.execPath, ['-e', script]);
    const pid = await new Promise<string>((resolve) => living.stdout.once('data', (data) => resolve(String(data))));
    const mine = pathBeside(at.path, 'one', 'unfinished');
    const of = (process: string | number) => mine.replace(`-${globalThis.process.pid}-`, `-${process}-`);
    const dead = spawn(process.execPath, ['-e', '']);
    await new Promise((resolve) => dead.once('exit', resolve));
    await writeFile(of(pid), 'theirs');
    await writeFile(of(dead.pid!), 'left');
    await writeFile(at.file('.a maker’s own.unfinished'), 'own');
    try {
      await stopped(async (outputs) => {
        await outputs.claim(at.file('one'));
        await outputs.write(at.file('one'), 'text');
      });
      expect((await readdir(at.path)).sort()).toEqual(
        ['.a maker’s own.unfinished', of(pid).split('/').at(-1), 'one'].sort(),
      );
    } finally {
      living.kill('SIGKILL');
    }
  });

  test('never two have a place at once', async () => {
    let inside = 0;
    let most = 0;
    let entered = 0;
    const turn = async () => {
      const release = await take(at.path, 'shelf.json', 20_000);
      expect(release).not.toBeNull();
      inside++;
      entered++;
      most = Math.max(most, inside);
      await new Promise((resolve) => setTimeout(resolve, 3));
      inside--;
      await release!();
    };
    await Promise.all(Array.from({ length: 12 }, turn));
    expect({ most, entered }).toEqual({ most: 1, entered: 12 });
  });

  test('a file that is written anew keeps its permissions', async () => {
    await writeFile(at.file('kept'), 'kept', { mode: 0o600 });
    await stopped(async (outputs) => {
      await outputs.claim(at.file('kept'));
      await outputs.write(at.file('kept'), 'new');
    });
    expect((await stat(at.file('kept'))).mode & 0o777).toBe(0o600);
  });
});
