import { removeBackground } from '../../../image/mask/flood.ts';
import { labPlanes } from '../../../vision/slab/lab-planes.ts';
import { BACKGROUND_POINTS, BACKGROUND_STROKES } from './limits.ts';
import type { MaskQuestions } from './messages.ts';
import { regionStrokes } from './region-strokes.ts';

type Background = MaskQuestions['background'];

/** Less of the picture than this is nothing. */
const LEAST = 0.002;

/**
 * Floods a small picture from sides of it and turns what is background into strokes.
 * @throws Error with a sentence if that finds nothing, or leaves nothing.
 */
export function backgroundStrokes(question: Background['asks']): Background['gets'] {
  const { width, height, rgba, tolerance, from, softDots, mostStrokes } = question;
  const { L, a, b } = labPlanes({ width, height, rgba });
  const hundredth = (plane: Float32Array) => plane.map((value) => value / 100);
  const subject = removeBackground(
    { width, height, lightness: hundredth(L), a: hundredth(a), b: hundredth(b) },
    { tolerance: tolerance / 100, from },
  );
  const region = subject.map((value) => (value < 128 ? 1 : 0));
  const removed = region.reduce((sum, value) => sum + value, 0) / region.length;
  if (removed < LEAST) {
    throw new Error('No calm background was found along the sides it starts from; a higher tolerance takes more.');
  }
  if (removed > 1 - LEAST) {
    throw new Error('The whole picture would count as background; a lower tolerance leaves the subject.');
  }
  const most = { strokes: Math.min(BACKGROUND_STROKES, mostStrokes), points: BACKGROUND_POINTS };
  if (most.strokes < 1) throw new Error('This mask is full: clear it, or undo strokes, to take the background away.');
  return { ...regionStrokes(region, width, height, softDots, most), removed };
}
