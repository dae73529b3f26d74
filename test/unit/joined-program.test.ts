import { expect, test } from 'vitest';
import { joinBytes } from '../../src/base/bytes.ts';
import { joinPrograms } from '../../src/outputs/program/joined-program.ts';
import type { ProgramPromise } from '../../src/outputs/program/machine-file.ts';
import { openMachineFile } from '../../src/outputs/program/machine-files.ts';
import { JoinedVerifier } from '../../src/outputs/program/verify/joined-verifier.ts';
import { ProgramFault } from '../../src/outputs/program/verify/program-verifier.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { togetherFault } from '../../src/shop/plate.ts';
import { rampPhoto } from '../helpers/burn.ts';
import { judgeProgram } from '../helpers/gcode-judge.ts';
import { ordersOf } from '../helpers/random-machine-job.ts';

const photo = rampPhoto();
const base = createPiece('Hollin Reach', 'photo.png');
const pieceAt = (xMm: number, power: number): Piece => ({
  ...base,
  slab: { ...base.slab, widthMm: 60, heightMm: 50 },
  // A stop of the maker's own is not taken for one between slabs.
  machine: { ...base.machine, control: { ...base.machine.control, startWords: 'M8', endWords: 'M0' } },
  picture: { ...base.picture, widthMm: 30, crop: 'rectangle' },
  passes: [{ ...base.passes[0], rowPitchMm: 0.5, lightEndPower: power }],
  placement: { ...base.placement, xMm },
});
const PIECES = [pieceAt(60, 0.85), pieceAt(160, 0.5), pieceAt(260, 0.7)];
const FILE = { kind: 'pass', index: 0 } as const;

async function joined(): Promise<{ text: string; promises: ProgramPromise[] }> {
  const promises: ProgramPromise[] = [];
  const parts: Uint8Array[] = [];
  const programs = PIECES.map((piece) => () => openMachineFile(FILE, piece, photo));
  for await (const { bytes } of joinPrograms(programs, ({ promise }) => promises.push(promise!))) parts.push(bytes);
  return { text: new TextDecoder().decode(joinBytes(parts)), promises };
}

function verify(text: string, promises: readonly ProgramPromise[], step = 1000): void {
  const verifier = new JoinedVerifier(promises);
  for (let at = 0; at < text.length; at += step) verifier.push(new TextEncoder().encode(text.slice(at, at + step)));
  verifier.finish();
}

test('programs joined with stops are those of the single slabs, each dark and at its own place', async () => {
  const { text, promises } = await joined();
  const parts = text.split(/(?<=^M0\n)\(Stop: .*\n/m);
  expect(parts).toHaveLength(3);
  for (const [i, part] of parts.entries()) {
    const whole = i < 2 ? part.replace(/M0\n$/, 'M2\n') : part;
    expect(judgeProgram(whole, ordersOf(PIECES[i], FILE))).toEqual([]);
    expect(part.trimEnd().split('\n').slice(-4)).toContain('M5');
  }
  for (const step of [1, 7, 5000, text.length]) verify(text, promises, step);
});

test('what is wrong with any of them is found', async () => {
  const { text, promises } = await joined();
  const second = text.indexOf('(Stop: ') + 1;
  const third = text.indexOf('(Stop: ', second);
  const spoiled = {
    'a slab left out': text.slice(0, second - 1) + text.slice(third),
    'a slab twice': text.replace('M2\n', `M0\n${text.slice(third)}`),
    'two in the wrong order': text.slice(second - 1 + 27) + text.slice(0, second - 1),
    'more power than allowed': `${text.slice(0, second)}${text.slice(second).replace(/S\d\d+/, 'S1001')}`,
    'a beam left on at the stop': text.replace(/M5\n(?=G0[^\n]*\nM0\nM0\n)/, ''),
    'no end': text.replace('M2\n', ''),
  };
  for (const [what, wrong] of Object.entries(spoiled)) {
    expect(wrong, what).not.toBe(text);
    expect(() => verify(wrong, promises), what).toThrow(ProgramFault);
  }
});

test('one program serves one machine whose positions count from the bed’s corner', () => {
  expect(togetherFault(PIECES)).toBeNull();
  const other = { ...PIECES[1], machine: { ...PIECES[1].machine, name: 'Bench diode' } };
  expect(togetherFault([PIECES[0], other])).toContain('different machines');
  const control = { ...base.machine.control, zero: 'picture-centre' as const };
  expect(togetherFault([{ ...base, machine: { ...base.machine, control } }])).toContain('picture’s middle');
});
