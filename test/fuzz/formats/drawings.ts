import { LIMITS } from '../../../src/base/input-error.ts';
import { outlineToSvg, type ReadOutline, svgPathToOutline, svgToOutline } from '../../../src/vision/slab/svg.ts';
import { randomDrawing, randomPath, soundPath } from '../drawings.ts';
import { bytesText, type Format, type Taken, textBytes } from '../format.ts';
import { spoilBytes } from '../spoil-bytes.ts';

function told({ outline, notes }: ReadOutline): Taken {
  const places = outline.flat();
  if (!places.every((mm) => Math.abs(mm) <= LIMITS.drawingReachMm)) throw new Error('an outline beyond all reach');
  if (outline.length > LIMITS.outlinePoints) throw new Error('an outline of too many points');
  outlineToSvg(outline);
  return { told: JSON.stringify(places), messages: notes };
}

export const svg: Format = {
  make(dice) {
    const text = randomDrawing(dice);
    return { bytes: dice.chance(0.4) ? spoilBytes(textBytes(text), dice) : textBytes(text) };
  },
  take: (bytes) => told(svgToOutline(bytesText(bytes))),
};

export const path: Format = {
  make(dice) {
    const text = dice.chance(0.7) ? randomPath(dice) : soundPath(dice);
    return { bytes: dice.chance(0.4) ? spoilBytes(textBytes(text), dice) : textBytes(text) };
  },
  take: (bytes) => told(svgPathToOutline(bytesText(bytes))),
};
