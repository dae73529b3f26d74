import { describe, expect, test } from 'vitest';
import { Cancelled } from '../../src/base/stop.ts';
import type { Photo } from '../../src/burn/prepare.ts';
import { extraLines, extraWordsFault, ProgramWriter } from '../../src/outputs/program/frame.ts';
import type { MachineFile } from '../../src/outputs/program/machine-file.ts';
import { openMachineFile } from '../../src/outputs/program/machine-files.ts';
import { createPowerWords } from '../../src/outputs/program/pass-program.ts';
import { type JobRefusal, JobRefused, leastDecimals, remediedPiece } from '../../src/outputs/program/refusals.ts';
import { slabToBed } from '../../src/physics/bed/bed.ts';
import { gapSavingS, leastGapMm } from '../../src/physics/raster/pass-raster.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { type Control, DEFAULT_CONTROL, type Pass, type Piece, type Placement } from '../../src/piece/schema.ts';
import { readProgram } from '../helpers/gcode-reader.ts';

/** Left half black, right half white. */
const photo: Photo = {
  key: 'halves',
  picture: {
    width: 80,
    height: 60,
    luminance: Float32Array.from({ length: 4800 }, (_, i) => (i % 80 < 40 ? 0 : 1)),
    alpha: null,
  },
  castless: null,
};

interface Changes {
  readonly control?: Partial<Control>;
  readonly placement?: Partial<Placement>;
  readonly pass?: Partial<Pass>;
  readonly widthMm?: number;
}

function pieceWith({ control, placement, pass, widthMm = 40 }: Changes = {}): Piece {
  const piece = createPiece('Test', 'halves.png');
  return {
    ...piece,
    picture: { ...piece.picture, widthMm, crop: 'rectangle' },
    machine: { ...piece.machine, control: { ...piece.machine.control, ...control } },
    placement: { ...piece.placement, ...placement },
    passes: [{ ...piece.passes[0], rowPitchMm: 0.2, ...pass }],
  };
}

async function textOf(piece: Piece, file: MachineFile = { kind: 'pass', index: 0 }): Promise<string> {
  const { parts } = await openMachineFile(file, piece, photo);
  return [...parts].map(({ bytes }) => new TextDecoder().decode(bytes)).join('');
}

async function refusalsOf(
  piece: Piece,
  file: MachineFile = { kind: 'pass', index: 0 },
): Promise<readonly JobRefusal[]> {
  try {
    await openMachineFile(file, piece, photo);
  } catch (error) {
    if (error instanceof JobRefused) return error.refusals;
    throw error;
  }
  return [];
}

/** The one refusal, whose remedy must make the job possible. */
async function refused(piece: Piece, file?: MachineFile): Promise<string> {
  const refusals = await refusalsOf(piece, file);
  expect(refusals).toHaveLength(1);
  const [{ message, remedy }] = refusals;
  if (remedy) expect(await refusalsOf(remediedPiece(piece, remedy), file)).toEqual([]);
  return message;
}

describe('words of the program', () => {
  const written = (control: Partial<Control>, write: (writer: ProgramWriter) => void, sDecimals = 0): string => {
    const writer = new ProgramWriter({ ...DEFAULT_CONTROL, ...control }, sDecimals, [0, 0]);
    write(writer);
    return new TextDecoder().decode(writer.take());
  };

  test('numbers are as short as they can be, and exact', () => {
    const places = [0, -0.0004, 0.001, -0.05, 100, 1234.56, -3000.007, 0.0996];
    const text = written({}, (writer) => {
      for (const [i, x] of places.entries()) writer.travel(x, i, 0);
    });
    expect(
      text
        .split('\n')
        .slice(0, -1)
        .map((line) => /X(-?[\d.]+)/.exec(line)?.[1] ?? 'same'),
    ).toEqual(['0', 'same', '0.001', '-0.05', '100', '1234.56', '-3000.007', '0.1']);
    expect(text).not.toMatch(/-0(?![.\d])/);
  });

  test('what still holds is not said again', () => {
    const text = written({}, (writer) => {
      writer.feed(100);
      writer.rapid(1, 2);
      writer.allowBeam();
      writer.travel(3, 2, 500);
      writer.travel(4, 2, 500);
      writer.travel(5, 2, 0);
      writer.rapid(4, 5);
      writer.rapid(4, 5);
      writer.travel(9, 5, 0);
    });
    expect(text).toBe('G0X1Y2S0\nM4 S0\nG1X3F6000S500\nX4\nX5S0\nG0X4Y5\nG1X9\n');
  });

  test('the head never stops with the beam on: what would make it is not written', () => {
    const lit = (then: (writer: ProgramWriter) => void) => () =>
      written({}, (writer) => {
        writer.rapid(1, 2);
        writer.allowBeam();
        writer.travel(3, 2, 500);
        then(writer);
      });
    expect(lit((writer) => writer.rapid(4, 5))).toThrow('the head would stop with the beam on');
    expect(lit((writer) => writer.line('M5'))).toThrow('the head would stop with the beam on');
    // A dark move of no length switches nothing off.
    expect(
      lit((writer) => {
        writer.travel(3, 2, 0);
        writer.line('M5');
      }),
    ).toThrow('the head would stop with the beam on');
    expect(lit((writer) => writer.travel(3.001, 2, 0))).not.toThrow();
  });

  test('inches, and powers on a scale of 1', () => {
    const text = written(
      { units: 'inch', decimals: 4, beam: 'holds-power', powerAtRest: false },
      (writer) => {
        writer.feed(25.4);
        writer.travel(25.4, 12.7, 0);
        writer.allowBeam();
        writer.travel(50.8, 12.7, 625);
      },
      3,
    );
    expect(text).toBe('G1X1Y0.5F60S0\nM3\nX2S0.625\n');
  });

  test('a comment cannot end early, holds no sign that acts at once, and is short', () => {
    const comment = (text: string) => written({}, (writer) => writer.comment(text));
    expect(comment('A) M3 S900\n(déjà')).toBe('(A- M3 S900 -deja)\n');
    expect(comment('Stop! ~ Ready? 50 % $H [x] \u2028\u0018\u{1f525} naïve')).toBe(
      '(Stop- - Ready- 50 - -H -x- - naive)\n',
    );
    const long = comment('x'.repeat(200));
    expect(long).toHaveLength(81);
    expect(long).toMatch(/^\(x+\)\n$/);
  });

  test('power: nearest word, never above the limit, never rounded below the firing floor', () => {
    const { machine } = pieceWith();
    const steps = (control: Partial<Control>, share: number) =>
      createPowerWords({ ...machine, control: { ...machine.control, ...control } }).steps(share);
    expect(steps({}, 0.8504)).toBe(850);
    expect(steps({ powerLimit: 0.8 }, 0.9)).toBe(800);
    expect(steps({ powerScale: 255, powerLimit: 0.5 }, 0.5)).toBe(127);
    // The floor is 2 %: 5.1 of 255.
    expect(steps({ powerScale: 255 }, 0.0201)).toBe(6);
    expect(steps({}, 0.0199)).toBe(0);
    expect(steps({}, 0)).toBe(0);
    expect(createPowerWords({ ...machine, control: { ...machine.control, powerScale: 1 } }).decimals).toBe(3);
  });

  test('words of the maker’s own: air and waits, nothing that moves or burns', () => {
    for (const fine of ['', 'M8', 'm08\nG4 P1.5', 'M8; G4 P2 | M0', 'G64']) expect(extraWordsFault(fine)).toBeNull();
    for (const bad of ['G0 X5', 'M3', 'S500', 'M4 S100', 'G92 X0', 'G91', 'F100', 'hello', 'M7 M8', 'G4', 'P3', 'G28'])
      expect(extraWordsFault(bad)).toMatch(/^line 1 ".*": .*(may not stand there|belong together|two words)/);
    expect(extraWordsFault('M8\nM0;G91')).toContain('line 3 "G91": G91 may not stand there');
    expect(extraWordsFault(`G4 P${'1'.repeat(90)}`)).toBe('line 1: longer than 80 letters');
  });

  test('words of the maker’s own: no sign that a byte cannot hold, no comment, and never as they were typed', () => {
    // Cut to a byte, these are brackets, a newline and a stop sign; small letters that grow into ASCII ones are none either.
    for (const sign of ['\u2028', '\u2029', '\u200a', '\u2021', '\u00a0', '\u3000', '\ufeff', '\u017f', '\u0131'])
      expect(extraWordsFault(`G4${sign}P1`)).toMatch(/^line 1 ".*": the sign U\+[0-9A-F]{4} is no plain letter/u);
    for (const bad of ['(air', 'M8 (air on)', 'M8)']) expect(extraWordsFault(bad)).toContain('comments in brackets');
    expect(extraLines('m08 \r\n\n g 4\tp1.5|M9')).toEqual(['M8', 'G4 P1.5', 'M9']);
    expect(() => extraLines('M3 S900')).toThrow('M3 may not stand there');
  });
});

describe('a pass as a program', () => {
  test('a picture of two halves: read line by line', async () => {
    const piece = pieceWith({
      pass: { screen: 'bayer-4', darkEndPower: 0, lightEndPower: 0.5 },
      control: { startWords: 'M8', endWords: 'M9' },
    });
    const lines = (await textOf(piece)).split('\n');
    expect(lines.slice(0, 8)).toEqual([
      'M5',
      'G21 G90 G94',
      '(Foreburn, pass 1 of 1: Test)',
      '(40.0 x 30.0 mm, 150 rows, 6000 mm/min)',
      '(Enclosure shut, or eyewear for the wavelength and pilot beam. Fumes outdoors.)',
      '(Never leave a burn alone until cold. Extinguisher at hand. Manuals come first.)',
      'M8',
      // The middle of the bed, half a picture farther less half a row; 2.5 mm of run-up before the white half.
      'G0X197.5Y214.9S0',
    ]);
    expect(lines.slice(8, 14)).toEqual(['M4 S0', 'G1X200F6000', 'X220S500', 'X222.5S0', 'G0Y214.7', 'G1X220']);
    expect(lines.slice(-6)).toEqual([expect.stringMatching(/^X/), 'M5', 'G0X200Y200', 'M9', 'M2', '']);
  });

  test('long blank stretches are crossed at the fastest feed, with run-ups on both sides and the time told for it', async () => {
    const { motion } = pieceWith().machine;
    // In closed form: 100 mm at 100 mm/s take 1 s; two ramps 2 · 0.05 s, 95 mm from rest to rest at 200 mm/s 0.475 + 0.1 s.
    expect(gapSavingS(100, 100, motion)).toBeCloseTo(1 - 0.1 - 0.575, 9);
    expect(gapSavingS(leastGapMm(100, motion), 100, motion)).toBeCloseTo(0.1, 6);
    expect(leastGapMm(200, motion)).toBe(Number.POSITIVE_INFINITY);
    expect(gapSavingS(100, 100, { ...motion, runUpMm: 2 })).toBe(0);
    // White only at both ends of the rows.
    const ends = {
      ...photo,
      key: 'ends',
      picture: {
        ...photo.picture,
        luminance: photo.picture.luminance.map((_, i) => (i % 80 < 8 || i % 80 >= 72 ? 1 : 0)),
      },
    };
    const piece = pieceWith({ widthMm: 160, pass: { screen: 'bayer-4', darkEndPower: 0, rowPitchMm: 1 } });
    const { parts, timeS } = await openMachineFile({ kind: 'pass', index: 0 }, piece, ends);
    const { motions } = readProgram([...parts].map(({ bytes }) => new TextDecoder().decode(bytes)).join(''));
    const leaps = motions.slice(1).filter(({ rapid, from, to }) => rapid && Math.abs(to[0] - from[0]) > 100);
    expect(leaps.length).toBeGreaterThan(100);
    for (const { from, to, s } of leaps) expect([s, from[1]]).toEqual([0, to[1]]);
    const slow = await openMachineFile(
      { kind: 'pass', index: 0 },
      { ...piece, machine: { ...piece.machine, motion: { ...motion, maxFeedMmPerS: 100 } } },
      ends,
    );
    expect(slow.timeS! - timeS!).toBeGreaterThan(30);
  });

  test('a file that is told to stop is not opened', async () => {
    const opened = openMachineFile(
      { kind: 'pass', index: 0 },
      pieceWith({ widthMm: 200 }),
      photo,
      AbortSignal.abort(new Cancelled()),
    );
    await expect(opened).rejects.toThrow('cancelled');
  });
});

describe('what is refused, with the number that is wrong and the nearest that works', () => {
  test.each<[string, Changes, string]>([
    [
      'a power scale of 0',
      { control: { powerScale: 0 } },
      'The power scale is 0: powers could not be kept apart on it. The least that works is 1',
    ],
    ['a power scale on which every power is nothing', { control: { powerScale: 1e-7 } }, 'The power scale is 1e-7'],
    [
      'a limit that no step above the floor keeps to',
      { control: { powerScale: 255, powerLimit: 0.0204 }, pass: { lightEndPower: 0.0204, darkEndPower: 0 } },
      'no power lies between 2 %, from which the source fires, and the limit of 2 %. The nearest limit that works is 2.4 %',
    ],
    [
      'a feed above the machine’s',
      { pass: { feedMmPerS: 250 } },
      'a feed of 15000 mm/min and the machine goes 12000 mm/min at most',
    ],
    ['power above the limit', { control: { powerLimit: 0.6 } }, 'sets 85 % of full power and the limit is 60 %'],
    [
      'too few decimals',
      { control: { decimals: 1 }, pass: { rowPitchMm: 0.1 } },
      'With 1 decimal place positions are too coarse for dots 0.1 mm apart; it takes 2',
    ],
    ['words that move', { control: { startWords: 'G0 X0' } }, 'In the lines at the start, line 1 "G0 X0": G0 may not'],
    [
      'a corner nobody knows',
      { control: { zero: 'picture-centre', park: 'bed-corner' } },
      'Positions count from the picture’s middle',
    ],
    [
      'a slab beyond the bed',
      { placement: { xMm: 140 } },
      'The slab reaches 10 mm beyond the bed’s left edge. The nearest place that works has the slab’s middle at 150 mm from the left and 200 mm from the front.',
    ],
  ])('%s', async (_, changes, message) => {
    expect(await refused(pieceWith(changes))).toContain(message);
  });

  test.each([0, 0.0004, 0.1])('a run-up of %d mm', async (runUpMm) => {
    const base = pieceWith();
    const motion = { ...base.machine.motion, runUpMm };
    expect(await refused({ ...base, machine: { ...base.machine, motion } })).toBe(
      `The run-up is ${runUpMm} mm: the beam would be on while the head stands at the ends of the rows. The least that works is 0.2 mm; this feed takes 2.5 mm.`,
    );
  });

  test('too few decimals for a lap with light, which would start and stop with it', async () => {
    const piece = pieceWith({ control: { units: 'inch', decimals: 1 }, placement: { pilotPower: 0.05 } });
    expect(await refused(piece, { kind: 'walk', path: 'slab' })).toBe(
      'With 1 decimal place positions are too coarse for the lap; it takes 3.',
    );
  });

  test('run-ups beyond the bed, though the slab lies on it', async () => {
    const base = pieceWith({ widthMm: 299, placement: { xMm: 151 }, pass: { feedMmPerS: 200, rowPitchMm: 1 } });
    const piece: Piece = {
      ...base,
      slab: { ...base.slab, shape: 'rectangle' },
      machine: { ...base.machine, motion: { ...base.machine.motion, runUpMm: 12 } },
    };
    expect(await refused(piece)).toContain(
      'With run-ups, the pass reaches 8.5 mm beyond the bed’s left edge. The nearest place that works has the slab’s middle at 159.5 mm',
    );
    const small = { ...piece, placement: { ...piece.placement, bedWidthMm: 302 } };
    expect((await refusalsOf(small))[0].message).toMatch(/It takes 319 × 2\d\d mm and the bed has 302 × 400 mm/);
  });

  test('a parking place beyond the bed', async () => {
    const base = pieceWith({ placement: { xMm: 250 } });
    const piece = { ...base, picture: { ...base.picture, offsetXMm: 170 } };
    const walk: MachineFile = { kind: 'walk', path: 'slab' };
    expect(await refused(piece, walk)).toContain('20 mm beyond the bed’s right edge');
    const { control } = base.machine;
    const stays = { ...piece, machine: { ...piece.machine, control: { ...control, park: 'stay' as const } } };
    expect(await refusalsOf(stays, walk)).toEqual([]);
  });

  test('a slab larger than the bed; a pass that burns nothing', async () => {
    expect((await refusalsOf(pieceWith({ placement: { bedHeightMm: 200, yMm: 100 } })))[0]).toMatchObject({
      message: expect.stringContaining('It takes 300 × 240 mm and the bed has 400 × 200 mm'),
      remedy: null,
    });
    const dark = pieceWith({ pass: { lightEndPower: 0.015, darkEndPower: 0.01 } });
    expect((await refusalsOf(dark))[0].message).toContain('its highest power is 1.5 %, the source fires from 2 %');
  });

  test('decimals are enough for a tenth of a dot', () => {
    expect(leastDecimals({ units: 'mm' }, 0.1)).toBe(2);
    expect(leastDecimals({ units: 'mm' }, 0.05)).toBe(2);
    expect(leastDecimals({ units: 'mm' }, 0.01)).toBe(3);
    expect(leastDecimals({ units: 'inch' }, 0.1)).toBe(4);
    // However far apart dots are, the shortest run-up is still two steps long.
    expect(leastDecimals({ units: 'inch' }, 5)).toBe(3);
  });
});

describe('walks and the reference mark', () => {
  const walk = (path: 'slab' | 'picture' | 'mark'): MachineFile => ({ kind: 'walk', path });
  const turned = { xMm: 210, yMm: 190, turnRad: 0.4 };

  test('with the beam off nothing allows it', async () => {
    const piece = pieceWith({ placement: turned });
    const { motions, rests, end } = readProgram(await textOf(piece, walk('slab')));
    expect(motions.every(({ beam }) => beam === 'off')).toBe(true);
    expect(rests.map(({ word }) => word)).toEqual(['M5', 'M5', 'end']);
    // On the rim of the oval all the way round: half axes 150 and 120 mm.
    const feed = motions.filter(({ rapid }) => !rapid);
    for (const { to } of feed) {
      const [dx, dy] = [to[0] - 210, to[1] - 190];
      const u = dx * Math.cos(0.4) + dy * Math.sin(0.4);
      const v = -dx * Math.sin(0.4) + dy * Math.cos(0.4);
      expect(Math.hypot(u / 150, v / 120)).toBeCloseTo(1, 4);
    }
    expect(feed.at(-1)!.to).toEqual(feed[0].from);
    expect(feed[0].feedMmPerS).toBe(50);
    expect(end).toEqual([210, 190]);
  });

  test('at pilot power it is on in motion only, round the picture’s corners', async () => {
    const piece = pieceWith({ placement: { ...turned, pilotPower: 0.05 } });
    const { motions, rests } = readProgram(await textOf(piece, walk('picture')));
    const lit = motions.filter(({ s }) => s > 0);
    expect(new Set(lit.map(({ s }) => s))).toEqual(new Set([50]));
    expect(lit).toHaveLength(4);
    for (const [i, corner] of (
      [
        [20, -15],
        [20, 15],
        [-20, 15],
        [-20, -15],
      ] as const
    ).entries()) {
      const [x, y] = slabToBed(piece.placement, corner);
      expect(Math.hypot(lit[i].to[0] - x, lit[i].to[1] - y)).toBeLessThan(0.002);
    }
    for (const { s, beam } of rests) expect(beam === 'off' || s === 0).toBe(true);
    expect(
      await refused(pieceWith({ placement: { pilotPower: 0.05 }, control: { powerLimit: 0.03 } }), walk('picture')),
    ).toContain('The pilot power is 5 % and the limit is 3 %');
  });

  test('with doubled corners it neither starts nor stops with light', async () => {
    const corners: [number, number][] = [
      [-40, -30],
      [40, -30],
      [40, 30],
      [-40, 30],
    ];
    const outlineMm = corners.flatMap((corner) => [corner, corner, corner]);
    const base = pieceWith({ placement: { ...turned, pilotPower: 0.05 } });
    const slab = { ...base.slab, shape: 'outline' as const, widthMm: 80, heightMm: 60, outlineMm };
    for (const outline of [outlineMm, [...outlineMm.slice(2), outlineMm[0]]]) {
      const piece = { ...base, slab: { ...slab, outlineMm: outline } };
      const { motions, rests } = readProgram(await textOf(piece, walk('slab')));
      for (const { s } of rests.slice(1)) expect(s).toBe(0);
      const first = motions.findIndex(({ s }) => s > 0);
      const last = motions.findLastIndex(({ s }) => s > 0);
      expect(last - first).toBe(3);
      const length = ({ from, to }: (typeof motions)[number]) => Math.hypot(to[0] - from[0], to[1] - from[1]);
      expect(length(motions[first - 1])).toBeCloseTo(2, 2);
      expect(length(motions[last + 1])).toBeCloseTo(2, 2);
    }
  });

  test('the mark is a cross in the margin, burned with run-ups; without margin it is refused', async () => {
    const piece = pieceWith({ widthMm: 150 });
    const { motions } = readProgram(await textOf(piece, { kind: 'mark' }));
    const lit = motions.filter(({ s }) => s > 0);
    expect(lit).toHaveLength(2);
    for (const { from, to } of lit) {
      expect(Math.hypot(to[0] - from[0], to[1] - from[1])).toBeCloseTo(4, 2);
      for (const [x, y] of [from, to]) {
        const [dx, dy] = [x - 200, y - 200];
        expect(Math.abs(dx) > 75 || Math.abs(dy) > 56.25).toBe(true);
        expect(Math.hypot(dx / 150, dy / 120)).toBeLessThan(1);
      }
    }
    readProgram(await textOf(piece, walk('mark')));
    expect(await refused(pieceWith({ widthMm: 318 }), { kind: 'mark' })).toMatch(
      /needs 3 mm of room .* gives [012]\.\d mm; the nearest that works is a picture 30\d(\.\d)? mm wide/,
    );
  });
});
