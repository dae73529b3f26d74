import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { decode, encode } from 'fast-png';

const here = dirname(fileURLToPath(import.meta.url));

export interface Pixels {
  readonly width: number;
  readonly height: number;
  readonly channels: number;
  readonly data: ArrayLike<number>;
}

export function readPng(png: Uint8Array): Pixels {
  const { width, height, channels, data } = decode(png);
  return { width, height, channels, data };
}

/** Most a channel may differ without counting, and the share of pixels that may count. */
const TOLERANCE = { step: 6, share: 0.002 };

/**
 * Compares a picture with test/image/expected/<name>.png. On a mismatch, actual, expected and diff are written to
 * test/image/actual. Without an expected picture it is written, except in CI, where that is an error.
 * @throws Error on a mismatch or, in CI, a missing picture.
 */
export function expectPicture(name: string, png: Uint8Array): void {
  const expectedPath = join(here, 'expected', `${name}.png`);
  const evidence = (kind: string): string => {
    mkdirSync(join(here, 'actual'), { recursive: true });
    return join(here, 'actual', `${name}.${kind}.png`);
  };
  if (!existsSync(expectedPath)) {
    if (process.env['CI']) {
      writeFileSync(evidence('actual'), png);
      throw new Error(`The expected picture ${name}.png is missing.`);
    }
    mkdirSync(dirname(expectedPath), { recursive: true });
    writeFileSync(expectedPath, png);
    return;
  }
  const expectedPng = readFileSync(expectedPath);
  const actual = readPng(png);
  const expected = readPng(expectedPng);
  const sameSize = actual.width === expected.width && actual.height === expected.height;
  const diff = new Uint8Array(actual.width * actual.height * 3);
  let different = 0;
  if (sameSize) {
    for (let i = 0; i < actual.width * actual.height; i++) {
      let worst = 0;
      for (let c = 0; c < 3; c++) {
        const off = Math.abs(actual.data[i * actual.channels + c] - expected.data[i * expected.channels + c]);
        diff[i * 3 + c] = Math.min(255, off * 8);
        worst = Math.max(worst, off);
      }
      if (worst > TOLERANCE.step) different += 1;
    }
  }
  const share = sameSize ? different / (actual.width * actual.height) : 1;
  if (share <= TOLERANCE.share) return;
  writeFileSync(evidence('actual'), png);
  writeFileSync(evidence('expected'), expectedPng);
  writeFileSync(evidence('diff'), encode({ width: actual.width, height: actual.height, channels: 3, data: diff }));
  throw new Error(`${name}: ${(share * 100).toFixed(2)} % of the pixels differ; see test/image/actual.`);
}
