import { existsSync } from 'node:fs';
import { readdir, readFile, writeFile } from 'node:fs/promises';
import { decode } from 'fast-png';
import sharp, { type Sharp } from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { decodeNpy } from '../../src/base/npy.ts';
import { applyOptions } from '../../src/cli/options.ts';
import { minutesAndSeconds } from '../../src/cli/proof-command.ts';
import { SCREENS } from '../../src/image/screens/screen-tone.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { checkPiece, encodePieceFile } from '../../src/piece/file.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';
import { readPngResolution } from '../helpers/png-resolution.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
beforeAll(async () => {
  folder = await temporaryFolder();
});
afterAll(() => folder.remove());

/** A small colour picture, light on the left, dark on the right. */
const picture = (width = 40, height = 24): Sharp => {
  const data = new Uint8Array(width * height * 3);
  for (let i = 0; i < width * height; i++) {
    const light = 255 - Math.round((255 * (i % width)) / (width - 1));
    data.set([light, light, Math.round(light * 0.8)], 3 * i);
  }
  return sharp(data, { raw: { width, height, channels: 3 } });
};
async function save(name: string, image: Sharp | Uint8Array): Promise<string> {
  const path = folder.file(name);
  await writeFile(path, image instanceof Uint8Array ? image : await image.toBuffer());
  return path;
}
let runs = 0;
/** Proof of a photo 4 mm wide, that is 40 dots; two tries show that the band is told. */
async function proof(photo: string, ...more: string[]) {
  runs++;
  const out = folder.file(`out-${runs}`);
  const ran = await runCli(['proof', photo, '--out', out, '--width-mm', '4', '--tries', '2', ...more]);
  const json = async (name: string) => JSON.parse(await readFile(`${out}/${name}`, 'utf8'));
  const npy = async (name: string) => decodeNpy(await readFile(`${out}/${name}.npy`));
  return { ...ran, folder: out, json, npy };
}
const meanOf = (values: Float32Array): number => values.reduce((a, b) => a + b, 0) / values.length;

describe('proof', () => {
  test('of dots placed by the burn says how near it comes, and nearer after a search', async () => {
    const photo = await save('near.png', picture(80, 48).png());
    const by = async (screen: string) => {
      const done = await proof(photo, '--width-mm', '8', '--screen', screen, '--flat-film');
      expect(done.error).toBe('');
      const { seen } = await done.json('report.json');
      return { seen, said: done.out };
    };
    const [swept, searched] = [await by('model-diffusion'), await by('direct-search')];
    expect(swept.said).toContain(`Seen from 40 cm it is ${swept.seen.rms.toFixed(1)} L* off`);
    expect(searched.seen.rms).toBeLessThan(0.9 * swept.seen.rms);
    expect((await by('stucki')).seen).toBeNull();
  });

  test('writes the proof, the uncleared map and the report', async () => {
    const photo = await save('landing.png', picture().png());
    const done = await proof(photo);
    expect(done.error).toBe('');
    expect(done.code).toBe(0);
    expect((await readdir(done.folder)).sort()).toEqual(['proof.png', 'report.json', 'uncleared.png']);
    for (const [name, channels] of [
      ['proof.png', 3],
      ['uncleared.png', 1],
    ] as const) {
      const bytes = await readFile(`${done.folder}/${name}`);
      expect(await sharp(bytes).metadata()).toMatchObject({ format: 'png', width: 40, height: 24, channels });
      // 0.1 mm a pixel.
      expect(readPngResolution(bytes)).toEqual({ x: 10, y: 10 });
    }
    const report = await done.json('report.json');
    expect(report).toMatchObject({
      direction: 'lightens',
      rows: 24,
      burnTimeS: expect.any(Number),
      unclearedShare: expect.any(Number),
      scorchedShare: expect.any(Number),
      meanResidueUm: expect.any(Number),
      maxDepthUm: expect.any(Number),
      lightShare: expect.any(Number),
    });
    expect(report.backend).toMatch(/^cpu: /);
    expect(Object.keys(report.stagesMs)).toEqual(
      expect.arrayContaining(['decode', 'colour', 'tones', 'screen', 'burn', 'write']),
    );
    for (const ms of Object.values(report.stagesMs)) expect(Number.isInteger(ms)).toBe(true);
    // The settings are a piece that can be read again.
    expect(checkPiece(report.settings).picture.widthMm).toBe(4);
    expect(report.residueHistogram).toHaveLength(60);
    // The summary is in words.
    expect(done.out).toMatch(
      /in (all|no|\d+ of 100) likely cases?\.\n[\d.]+ % (\(likely [\d.]+–[\d.]+ %\) )?of the light areas’ dots will keep dark residue\.\n[\d.]+ µm \(likely [\d.]+–[\d.]+ µm\)/,
    );
    expect(done.out).toMatch(/\n24 rows, 0 min \d+ s\.\n/);
    expect(done.out).toContain(done.folder);
  });

  test('the proof shows the photo: lighter where it is lighter', async () => {
    const photo = await save('ramp.png', picture().png());
    const done = await proof(photo, '--flat-film', '--screen', 'continuous');
    const { data } = await sharp(`${done.folder}/proof.png`).raw().toBuffer({ resolveWithObject: true });
    const at = (x: number) => data[3 * (12 * 40 + x)];
    expect(at(1)).toBeGreaterThan(180);
    expect(at(38)).toBeLessThan(90);
  });

  test('without --out it writes beside where it is called, named after the photo', async () => {
    const before = process.cwd();
    const photo = await save('pier.photo.jpg', picture().jpeg());
    process.chdir(folder.path);
    try {
      expect((await runCli(['proof', photo, '--width-mm', '4'])).code).toBe(0);
    } finally {
      process.chdir(before);
    }
    expect(existsSync(folder.file('pier.photo-proof/report.json'))).toBe(true);
  });

  test('--json prints the report that is written', async () => {
    const photo = await save('json.png', picture().png());
    const done = await proof(photo, '--json');
    expect(JSON.parse(done.out)).toEqual(await done.json('report.json'));
  });

  test('--fields writes every field as an array of the right shape', async () => {
    const photo = await save('fields.png', picture().png());
    const done = await proof(
      photo,
      '--fields',
      '--flat-film',
      '--pass',
      'light=60,dark=0',
      '--pass',
      'light=30,heading=90',
    );
    const names = (await readdir(done.folder)).filter((name) => name.endsWith('.npy')).sort();
    expect(names).toEqual([
      'excess-j-per-mm2.npy',
      'power-2.npy',
      'power.npy',
      'residue-0-um.npy',
      'residue-1-um.npy',
      'tone.npy',
      'wood-depth-um.npy',
    ]);
    for (const name of names) {
      const { shape, data } = await done.npy(name.replace('.npy', ''));
      expect(shape).toEqual(name === 'power-2.npy' ? [40, 24] : [24, 40]);
      expect(data.every(Number.isFinite)).toBe(true);
    }
    const top = await done.npy('residue-0-um');
    expect(Math.max(...top.data)).toBeLessThanOrEqual(25);
    expect(Math.min(...top.data)).toBe(0);
    expect(new Set((await done.npy('residue-1-um')).data)).toEqual(new Set([50]));
    // Set power at the lightest dots, and at the darkest.
    const power = await done.npy('power');
    expect(Math.max(...power.data)).toBeCloseTo(0.6, 6);
    expect(Math.min(...power.data)).toBe(0);
    const tone = await done.npy('tone');
    expect(tone.data[0]).toBeGreaterThan(tone.data[30]);
  });

  test('--flat-film takes the unevenness out', async () => {
    const white = await save(
      'white.png',
      sharp({ create: { width: 40, height: 24, channels: 3, background: '#fff' } }).png(),
    );
    const inner = async (...more: string[]) => {
      const { data } = await (await proof(white, '--fields', '--light-end', '30', ...more)).npy('residue-0-um');
      const cells: number[] = [];
      for (let y = 8; y < 16; y++) for (let x = 8; x < 32; x++) cells.push(data[y * 40 + x]);
      return Math.max(...cells) - Math.min(...cells);
    };
    expect(await inner()).toBeGreaterThan(0.5);
    expect(await inner('--flat-film', '--cold')).toBeLessThan(0.01);
    // Heat makes later rows burn deeper than the first.
    expect(await inner('--flat-film')).toBeGreaterThan(0.05);
  });

  test('a piece file gives slab, coats, machine and passes, and keeps its own width', async () => {
    const piece = createPiece('Reach', 'reach.jpg');
    const small = {
      ...piece,
      picture: { ...piece.picture, widthMm: 3 },
      passes: [{ ...piece.passes[0], lightEndPower: 0.44, rowPitchMm: 0.2 }],
    };
    const photo = await save('reach.png', picture(30, 20).png());
    const zipped = await save('reach.foreburn', encodePieceFile({ piece: small, images: new Map() }));
    const bare = await save('reach.json', new TextEncoder().encode(JSON.stringify(small)));
    for (const path of [zipped, bare]) {
      const out = folder.file(`piece-${path.slice(-4)}`);
      const ran = await runCli(['proof', photo, '--piece', path, '--out', out, '--light-end', '50']);
      expect(ran.error).toBe('');
      const { settings } = JSON.parse(await readFile(`${out}/report.json`, 'utf8'));
      expect(settings).toEqual({ ...small, passes: [{ ...small.passes[0], lightEndPower: 0.5 }] });
      expect(await sharp(`${out}/proof.png`).metadata()).toMatchObject({ width: 15, height: 10 });
      expect(readPngResolution(await readFile(`${out}/proof.png`))).toEqual({ x: 5, y: 5 });
    }
  });

  test('progress is drawn on a terminal and wiped off', async () => {
    const photo = await save('terminal.png', picture().png());
    const ran = await runCli(['proof', photo, '--out', folder.file('terminal'), '--width-mm', '4'], true);
    expect(ran.code).toBe(0);
    expect(ran.error).toMatch(/burn 100 %/);
    expect(ran.error.endsWith('\r\u001b[K')).toBe(true);
  });
});

describe('which passes', () => {
  const saved = createPiece('', '');
  const two = { ...saved, passes: [saved.passes[0], { ...saved.passes[0], lightEndPower: 0.2 }] };
  const brief = (values: Record<string, string | string[] | boolean>, piece = saved) =>
    applyOptions(piece, values).passes.map(({ lightEndPower, darkEndPower, feedMmPerS }) =>
      [100 * lightEndPower, 100 * darkEndPower, 60 * feedMmPerS].map((value) => Math.round(value * 1000) / 1000),
    );

  test('none said: those of the piece', () => {
    expect(applyOptions(two, {})).toEqual(two);
  });

  test('--light-end and --dark-end are the first pass, and the only one', () => {
    expect(brief({ 'light-end': '62.5' }, two)).toEqual([[62.5, 8, 6000]]);
    expect(brief({ 'dark-end': '5' })).toEqual([[85, 5, 6000]]);
  });

  test('each --pass is one more after them', () => {
    expect(brief({ 'light-end': '60', pass: ['light=30,dark=0', 'feed=3000'] })).toEqual([
      [60, 8, 6000],
      [30, 0, 6000],
      [30, 0, 3000],
    ]);
  });

  test('without them the --pass list is the whole list; a pass takes the rest from the one before', () => {
    expect(brief({ pass: ['light=50', 'dark=1'] }, two)).toEqual([
      [50, 8, 6000],
      [50, 1, 6000],
    ]);
  });

  test('feed, row pitch and screen hold for all passes', () => {
    const { passes } = applyOptions(two, { feed: '7000', 'row-pitch': '0.085', screen: 'stucki' });
    for (const pass of passes) {
      expect(pass.feedMmPerS * 60).toBeCloseTo(7000, 9);
      expect(pass).toMatchObject({ rowPitchMm: 0.085, screen: 'stucki' });
    }
    expect(passes.map((pass) => pass.lightEndPower)).toEqual([0.85, 0.2]);
    expect(brief({ feed: '7000', pass: ['light=10'] })).toEqual([[10, 8, 7000]]);
  });

  test('every key of --pass', () => {
    const [pass] = applyOptions(saved, {
      pass: ['light=1, dark=2, feed=600, pitch=0.2, heading=90, focus=-1.5, screen=bayer-4'],
    }).passes;
    expect(pass).toMatchObject({
      lightEndPower: 0.01,
      darkEndPower: 0.02,
      feedMmPerS: 10,
      rowPitchMm: 0.2,
      focusOffsetMm: -1.5,
      screen: 'bayer-4',
    });
    expect(pass.headingRad).toBeCloseTo(Math.PI / 2, 12);
  });

  test('the command line’s piece is the same as the report’s', async () => {
    const photo = await save('passes.png', picture().png());
    const done = await proof(photo, '--light-end', '60', '--pass', 'light=30,dark=0', '--feed', '7000');
    const { settings } = await done.json('report.json');
    expect(settings.passes).toHaveLength(2);
    expect(settings.passes[0]).toMatchObject({ lightEndPower: 0.6, darkEndPower: 0.08 });
    expect(settings.passes[1]).toMatchObject({ lightEndPower: 0.3, darkEndPower: 0 });
  });
});

describe('kinds of photographs', () => {
  const toneOf = async (path: string) => {
    const done = await proof(path, '--fields', '--screen', 'continuous');
    expect(done.error).toBe('');
    return done.npy('tone');
  };

  test('JPEG, PNG, WebP, TIFF, palette and 16 bit tell the same picture', async () => {
    const plain = (await toneOf(await save('plain.png', picture().png()))).data;
    const deep = sharp(
      Uint16Array.from({ length: 40 * 24 * 3 }, (_, i) => {
        const light = 255 - Math.round((255 * (Math.floor(i / 3) % 40)) / 39);
        return 257 * (i % 3 === 2 ? Math.round(light * 0.8) : light);
      }),
      { raw: { width: 40, height: 24, channels: 3 } },
    )
      .toColourspace('rgb16')
      .png();
    const files: [string, Sharp, number][] = [
      ['kind.webp', picture().webp({ lossless: true }), 1e-6],
      ['kind.tiff', picture().tiff({ compression: 'lzw' }), 1e-6],
      ['deep.png', deep, 1e-4],
      // Forty greys fit into a palette; its quantiser may be off by a code or two.
      ['palette.png', picture().png({ palette: true, dither: 0 }), 0.03],
      // JPEG at high quality and full colour: a few codes.
      ['kind.jpg', picture().jpeg({ quality: 100, chromaSubsampling: '4:4:4' }), 0.03],
    ];
    for (const [name, image, tolerance] of files) {
      const path = await save(name, image);
      if (name === 'deep.png') expect(await sharp(path).metadata()).toMatchObject({ depth: 'ushort' });
      const { data, shape } = await toneOf(path);
      expect(shape).toEqual([24, 40]);
      let worst = 0;
      data.forEach((value, i) => {
        worst = Math.max(worst, Math.abs(value - plain[i]));
      });
      expect(worst).toBeLessThan(tolerance);
    }
  });

  test('a grey JPEG is a grey picture', async () => {
    const grey = await save('grey.jpg', picture().greyscale().jpeg({ quality: 100 }));
    const { data } = await toneOf(grey);
    expect(data[0]).toBeGreaterThan(0.95);
    expect(data[38]).toBeLessThan(0.2);
  });

  test('EXIF orientation is respected', async () => {
    // Orientation 6: the stored picture has to be turned clockwise to stand upright.
    const turned = await save('turned.jpg', picture().withMetadata({ orientation: 6 }).jpeg({ quality: 100 }));
    expect(await sharp(turned).metadata()).toMatchObject({ width: 40, height: 24, orientation: 6 });
    const { data, shape } = await toneOf(turned);
    // 4 mm wide: 40 dots; as 24 × 40 pixels it is taller than wide.
    expect(shape).toEqual([67, 40]);
    // What was on the left is at the top.
    expect(data[20]).toBeGreaterThan(data[66 * 40 + 20] + 0.5);
  });

  test('transparent places never burn', async () => {
    const data = new Uint8Array(40 * 24 * 2);
    for (let i = 0; i < 40 * 24; i++) data.set([255, i % 40 < 20 ? 255 : 0], 2 * i);
    const photo = await save(
      'hole.png',
      sharp(data, { raw: { width: 40, height: 24, channels: 2 } })
        .toColourspace('b-w')
        .png(),
    );
    expect(await sharp(photo).metadata()).toMatchObject({ channels: 2, hasAlpha: true });
    const done = await proof(photo, '--fields', '--flat-film');
    const residue = await done.npy('residue-0-um');
    const power = await done.npy('power');
    for (let y = 0; y < 24; y++) {
      for (let x = 0; x < 40; x++) {
        if (x >= 20 && power.data[y * 40 + x] !== 0) throw new Error(`power at ${x}, ${y}`);
        // The beam reaches a dot or two beyond the edge.
        if (x >= 24 && residue.data[y * 40 + x] !== 25) throw new Error(`burned at ${x}, ${y}`);
      }
    }
    expect(residue.data[12 * 40 + 10]).toBe(0);
  });

  test('an embedded profile is respected', async () => {
    const flat = () => sharp({ create: { width: 40, height: 24, channels: 3, background: { r: 0, g: 0, b: 255 } } });
    const plain = await save('blue.png', flat().png());
    const wide = await save('blue-p3.png', flat().withIccProfile('p3').png());
    const { data: stored } = decode(await readFile(wide));
    // The stored numbers are others: without the profile the tone would be off.
    expect(stored[2]).toBeLessThan(250);
    const bare = await save(
      'blue-bare.png',
      sharp(stored as Uint8Array, { raw: { width: 40, height: 24, channels: 3 } }).png(),
    );
    const tones = await Promise.all([plain, wide, bare].map(async (path) => meanOf((await toneOf(path)).data)));
    // Eight bits of another space: a code is 0.004.
    expect(Math.abs(tones[1] - tones[0])).toBeLessThan(0.004);
    expect(Math.abs(tones[2] - tones[0])).toBeGreaterThan(0.008);
  });

  test('a picture of one pixel', async () => {
    const dot = await save('dot.png', picture(2, 1).resize(1, 1).png());
    expect((await proof(dot)).code).toBe(0);
  });
});

describe('exit codes and messages', () => {
  /** The last line of what went wrong. */
  const failed = async (argv: string[], code: number): Promise<string> => {
    const ran = await runCli(argv);
    expect(ran.code).toBe(code);
    expect(ran.out).toBe('');
    expect(ran.error).toMatch(/^foreburn: .*\n$/s);
    return ran.error.trimEnd();
  };

  test.each([
    [['smooth'], 'there is no command "smooth"'],
    [['proof'], 'give one photograph'],
    [['proof', 'a.png', 'b.png'], 'give one photograph'],
    [['proof', 'a.png', '--sped', '5'], "Unknown option '--sped'"],
    [['proof', 'a.png', '--light-end', '101'], '--light-end: must be a number from 0 to 100, got "101"'],
    [['proof', 'a.png', '--light-end', 'NaN'], '--light-end: must be a number from 0 to 100, got "NaN"'],
    [['proof', 'a.png', '--feed', ''], '--feed: must be a number from 6 to 600000, got ""'],
    [['proof', 'a.png', '--feed', '1e999'], '--feed: must be a number'],
    [
      ['proof', 'a.png', '--row-pitch', '-1'],
      '--row-pitch needs a value; one that starts with a dash is written --row-pitch=-1',
    ],
    [['proof', 'a.png', '--row-pitch=-1'], '--row-pitch: must be a number from 0.01 to 5, got "-1"'],
    [['proof', 'a.png', '--width-mm', '0'], '--width-mm: must be a number from 1 to 3000, got "0"'],
    [['proof', 'a.png', '--screen', 'fancy'], '--screen: there is no screen "fancy"; "foreburn screens" lists them'],
    [['proof', 'a.png', '--pass', 'speed=5'], '--pass: "speed=5" is not one of light, dark, feed'],
    [['proof', 'a.png', '--pass', 'light'], '--pass: "light" is not one of'],
    [['proof', 'a.png', '--pass', 'constructor=1'], '--pass: "constructor=1" is not one of'],
    [['proof', 'a.png', '--pass', 'light=200'], '--pass light: must be a number from 0 to 100, got "200"'],
    [['proof', 'a.png', '--piece'], '--piece'],
    [['screens', '--verbose'], "Unknown option '--verbose'"],
  ])('a wrong call is 2: %j', async (argv, message) => {
    expect(await failed(argv, 2)).toContain(message);
  });

  test('help is no error; nothing at all is', async () => {
    for (const argv of [['--help'], ['help']]) {
      const ran = await runCli(argv);
      expect(ran).toMatchObject({ code: 0, error: '' });
      expect(ran.out).toContain('Usage: foreburn COMMAND');
    }
    expect((await runCli([])).code).toBe(2);
    const help = await runCli(['proof', '--help']);
    expect(help.code).toBe(0);
    for (const option of [
      'piece',
      'out',
      'width-mm',
      'light-end',
      'dark-end',
      'feed',
      'row-pitch',
      'screen',
      'pass',
      'flat-film',
      'cold',
      'tries',
      'fields',
      'json',
    ])
      expect(help.out).toContain(`--${option} `);
  });

  describe('what cannot be done is 1, and says which file and why', () => {
    const frame = (level: number) =>
      sharp({ create: { width: 20, height: 20, channels: 3, background: { r: level, g: 9, b: 9 } } });
    const frames = async () => Promise.all([10, 200].map((level) => frame(level).png().toBuffer()));
    const files: [string, () => Promise<Uint8Array | Sharp>, string][] = [
      ['note.png', async () => new TextEncoder().encode('not a picture'), 'is not a picture that can be read here'],
      ['empty.jpg', async () => new Uint8Array(0), 'is empty'],
      ['cut.jpg', async () => (await picture(80, 80).jpeg().toBuffer()).subarray(0, -200), 'is cut off'],
      ['cut.png', async () => (await picture().png().toBuffer()).subarray(0, 150), 'is cut off'],
      ['cut.webp', async () => (await picture().webp().toBuffer()).subarray(0, 100), 'is cut off'],
      ['press.jpg', async () => picture().toColourspace('cmyk').jpeg(), 'CMYK'],
      ['wave.gif', async () => sharp(await frames(), { join: { animated: true } }).gif(), 'is a GIF'],
      ['wave.webp', async () => sharp(await frames(), { join: { animated: true } }).webp(), 'anim'],
    ];
    test.each(files)('%s', async (name, make, reason) => {
      const path = await save(name, await make());
      const out = folder.file(`never-${name}`);
      const message = await failed(['proof', path, '--out', out], 1);
      expect(message.startsWith(`foreburn: ${path} `)).toBe(true);
      expect(message).toContain(reason);
      expect(existsSync(out)).toBe(false);
    });

    test('a damaged picture that looks whole', async () => {
      const bytes = await picture(64, 64).png({ compressionLevel: 0 }).toBuffer();
      bytes.fill(0x55, 60, bytes.length - 40);
      const path = await save('spoiled.png', bytes);
      expect(await failed(['proof', path], 1)).toContain(path);
    });

    test('no such photo, and a folder for one', async () => {
      const path = folder.file('missing.png');
      expect(await failed(['proof', path], 1)).toBe(`foreburn: ${path}: there is no such file`);
      expect(await failed(['proof', folder.path], 1)).toContain(folder.path);
    });

    test('no such piece', async () => {
      const photo = await save('photo.png', picture().png());
      const path = folder.file('missing.foreburn');
      expect(await failed(['proof', photo, '--piece', path], 1)).toBe(`foreburn: ${path}: there is no such file`);
    });

    const piece = () => JSON.parse(JSON.stringify(createPiece('', ''))) as Record<string, unknown>;
    test.each([
      ['unknown.json', () => JSON.stringify({ ...piece(), colour: 1 }), 'the piece: unknown field "colour"'],
      ['newer.json', () => JSON.stringify({ ...piece(), version: 99 }), 'newer Foreburn (version 99'],
      ['nan.json', () => JSON.stringify(piece()).replace(/"widthMm":300/, '"widthMm":NaN'), 'its JSON cannot be read'],
      [
        'infinite.json',
        () => JSON.stringify(piece()).replace(/"widthMm":300/, '"widthMm":1e999'),
        'slab.widthMm: must be a number from 5 to 3000, got Infinity',
      ],
      [
        'negative.json',
        () => JSON.stringify(piece()).replace(/"widthMm":300/, '"widthMm":-300'),
        'slab.widthMm: must be a number from 5 to 3000, got -300',
      ],
      ['damaged.foreburn', () => 'PK\u0003\u0004 no zip', 'is damaged'],
      ['empty.foreburn', () => '', 'the file is empty'],
    ])('%s', async (name, make, reason) => {
      const photo = await save('photo.png', picture().png());
      const path = await save(name, new TextEncoder().encode(make()));
      const message = await failed(['proof', photo, '--piece', path], 1);
      expect(message).toContain(`${path}: `);
      expect(message).toContain(reason);
    });

    test('every problem of a piece has a line of its own with the file’s name', async () => {
      const photo = await save('photo.png', picture().png());
      const path = await save(
        'two.json',
        new TextEncoder().encode(JSON.stringify({ ...piece(), name: 1, passes: [] })),
      );
      const message = await failed(['proof', photo, '--piece', path], 1);
      expect(message.split('\n')).toHaveLength(2);
      for (const line of message.replace('foreburn: ', '').split('\n')) expect(line.startsWith(`${path}: `)).toBe(true);
    });

    test('a place that cannot be written', async () => {
      const photo = await save('photo.png', picture().png());
      const message = await failed(['proof', photo, '--width-mm', '4', '--out', photo], 1);
      expect(message).toContain(photo);
    });
  });
});

describe('screens', () => {
  test('lists all of them, and as JSON', async () => {
    const ran = await runCli(['screens']);
    expect(ran).toMatchObject({ code: 0, error: '' });
    for (const { method, title } of SCREENS) {
      expect(ran.out).toContain(`${method} `);
      expect(ran.out).toContain(title);
    }
    const json = await runCli(['screens', '--json']);
    expect(JSON.parse(json.out)).toEqual(SCREENS);
  });

  test('says of a photograph how near each comes, those that go by the burn nearest', async () => {
    const photo = await save('near.png', picture(60, 40).png());
    const ran = await runCli(['screens', photo, '--json']);
    const errors = new Map(
      JSON.parse(ran.out).map(({ method, error }: { method: string; error: { rms: number } }) => [method, error.rms]),
    );
    expect(errors.size).toBe(SCREENS.length);
    expect(errors.get('direct-search')).toBe(Math.min(...(errors.values() as Iterable<number>)));
  });

  test.each(['bayer-4', 'blue-noise', 'tone-dependent'])('%s makes a proof', async (method) => {
    const photo = await save('screened.png', picture(12, 8).png());
    const ran = await runCli(['proof', photo, '--out', folder.file(method), '--width-mm', '1.2', '--screen', method]);
    expect(ran).toMatchObject({ code: 0, error: '' });
  });
});

test('time is told without a sixtieth second', () => {
  expect(minutesAndSeconds(119.7)).toBe('2 min 0 s');
  expect(minutesAndSeconds(119.4)).toBe('1 min 59 s');
});
