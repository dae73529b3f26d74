import { decode } from 'fast-png';
import type { Photo } from '../../src/burn/prepare.ts';
import type { ProgramPromise } from '../../src/outputs/program/machine-file.ts';
import { openMachineFile } from '../../src/outputs/program/machine-files.ts';
import { ProgramVerifier } from '../../src/outputs/program/verify/program-verifier.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { burnProgram } from './burn-program.ts';
import { judgeProgram } from './gcode-judge.ts';
import { readProgram } from './gcode-reader.ts';
import { openMended, ordersOf, randomMachineJob, textOf } from './random-machine-job.ts';

const bytesOf = (text: string): Uint8Array => Uint8Array.from(text, (sign) => sign.charCodeAt(0) & 0xff);

/** What the verifier has against a program; null if nothing. */
export function verifierSays(text: string, promise: ProgramPromise): string | null {
  try {
    const verifier = new ProgramVerifier(promise);
    verifier.push(bytesOf(text));
    verifier.finish();
    return null;
  } catch (error) {
    return (error as Error).message;
  }
}

/** Dots of a program that are not those of the pass's picture, a sentence each. */
async function wrongDots(text: string, piece: Piece, photo: Photo): Promise<string[]> {
  const file = { kind: 'picture', index: 0, form: 'dots-8', negative: false } as const;
  const { parts } = await openMachineFile(file, piece, photo);
  const png = decode(new Uint8Array(Buffer.concat([...parts].map(({ bytes }) => bytes))));
  const [pass] = piece.passes;
  const { control, source } = piece.machine;
  const grid = { columns: png.width, rows: png.height, pitchMm: pass.rowPitchMm, headingRad: pass.headingRad };
  const shift = control.correctRowOffset ? -pass.rowOffsetErrorMm : 0;
  const burned = burnProgram(readProgram(text, ordersOf(piece, { kind: 'pass', index: 0 }).start), piece, grid, shift);
  const step = control.powerScale >= 250 ? 1 : 10 ** -Math.ceil(Math.log10(250 / control.powerScale));
  const leastS = Math.ceil((source.firingFloor * control.powerScale) / step - 1e-9) * step;
  const mostS = Math.floor((control.powerLimit * control.powerScale) / step + 1e-9) * step;
  const wrong: string[] = [];
  for (let dot = 0; dot < burned.length; dot++) {
    const share = pass.darkEndPower + ((pass.lightEndPower - pass.darkEndPower) * png.data[2 * dot]) / 255;
    const dark = png.data[2 * dot + 1] === 0 || share < source.firingFloor || share === 0;
    const planned = dark ? 0 : Math.min(mostS, Math.max(leastS, step, share * control.powerScale));
    if (dark ? burned[dot] !== 0 : Math.abs(burned[dot] - planned) > 0.5001 * step)
      wrong.push(`dot ${dot}: S${burned[dot]} instead of ${planned}`);
  }
  return wrong;
}

/**
 * Makes one random job's program and holds it against everything that must be true of it. Null where there is no way to make the job
 * possible. `dots`: also against the pass's picture.
 */
export async function checkMachineJob(seed: number, dots: boolean): Promise<{ kind: string; faults: string[] } | null> {
  const job = randomMachineJob(seed);
  const mended = await openMended(job);
  if (!mended) return null;
  const { kind } = job.file;
  const text = textOf(mended.opened);
  const faults = judgeProgram(text, ordersOf(mended.piece, job.file));
  const says = verifierSays(text, mended.opened.promise!);
  if (says) faults.push(`the verifier says: ${says}`);
  if (dots && kind === 'pass') faults.push(...(await wrongDots(text, mended.piece, job.photo)));
  return { kind, faults };
}
