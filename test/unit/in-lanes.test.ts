import { expect, test } from 'vitest';
import { inLanes } from '../../src/base/in-lanes.ts';

const later = () => new Promise<void>((resolve) => setTimeout(resolve));

test.each([1, 3, 16])('does each thing once and hands on what came of it in order, %i at a time', async (lanes) => {
  const begun: number[] = [];
  let under = 0;
  let most = 0;
  const squares = await inLanes(10, lanes, async (i) => {
    begun.push(i);
    most = Math.max(most, ++under);
    for (let turn = 0; turn < 1 + ((7 * i) % 4); turn++) await later();
    under--;
    return i * i;
  });
  expect(begun).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
  expect(squares).toEqual([0, 1, 4, 9, 16, 25, 36, 49, 64, 81]);
  expect(most).toBe(Math.min(lanes, 10));
});

test('nothing, and nothing more once something has failed', async () => {
  expect(await inLanes(0, 4, later)).toEqual([]);
  const begun: number[] = [];
  const failing = inLanes(50, 2, async (i) => {
    begun.push(i);
    await later();
    if (i === 3) throw new Error('three');
  });
  await expect(failing).rejects.toThrow('three');
  for (let turn = 0; turn < 5; turn++) await later();
  expect(begun.length).toBeLessThan(7);
});
