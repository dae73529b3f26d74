import { describe, expect, test } from 'vitest';
import { labToLinearRgb } from '../../src/base/color/lab.ts';
import { srgbDecodingTable } from '../../src/base/color/srgb.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import type { CardKind } from '../../src/vision/card/card.ts';
import { cardPiece } from '../../src/vision/card/card-piece.ts';
import { makeCard } from '../../src/vision/card/make-card.ts';
import { cardPicture } from '../../src/vision/card/picture.ts';
import { cardColors, readCardPhoto } from '../../src/vision/card/read-photo.ts';
import { burn, flatFilm } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';
import { photographCard, SHOT } from '../helpers/render-card-photo.ts';

/**
 * Cards proposed for the preset and burned where the paint takes half as much again and the spot is a fifth wider, cold: marks and code must
 * still be found in a photograph, for they are all that tells which card it is. No published source.
 */
const preset = flatFilm(createPiece('test', 'test.png'));
const dark: Piece = {
  ...preset,
  heat: { ...preset.heat, carryOver: false },
  machine: {
    ...preset.machine,
    source: {
      ...preset.machine.source,
      spotAlongMm: 1.2 * preset.machine.source.spotAlongMm,
      spotAcrossMm: 1.2 * preset.machine.source.spotAcrossMm,
    },
  },
  stack: {
    ...preset.stack,
    coats: preset.stack.coats.map((coat, i) => ({
      ...coat,
      thresholdJPerMm2: coat.thresholdJPerMm2 * (i === 0 ? 1.5 : 1),
      specificEnergyJPerMm3: coat.specificEnergyJPerMm3 * (i === 0 ? 1.5 : 1),
    })),
  },
};

async function burned(kind: CardKind) {
  const card = makeCard(kind, preset);
  const picture = cardPicture(card);
  const runner = await cpuRunner();
  const fields = await burn(cardPiece(card, dark), picture, runner);
  const linear = srgbDecodingTable(8);
  const { width, height, color } = fields;
  const rgb = Float32Array.from(
    { length: 3 * width * height },
    (_, i) => linear[color[4 * Math.floor(i / 3) + (i % 3)]],
  );
  // Nothing is burned on the reference place: it was taped off.
  const colors = cardColors(preset);
  const bare = labToLinearRgb(colors.bare);
  const { xMm, yMm, widthMm, heightMm } = card.reference;
  for (let y = Math.round(yMm / card.pitchMm); y < Math.round((yMm + heightMm) / card.pitchMm); y++) {
    for (let x = Math.round(xMm / card.pitchMm); x < Math.round((xMm + widthMm) / card.pitchMm); x++) {
      for (let k = 0; k < 3; k++) rgb[3 * (y * width + x) + k] = bare[k];
    }
  }
  return { card, picture, colors, fields, flat: { width, height, rgb } };
}

describe('a card in a dark world', () => {
  test.each(['step-wedge', 'swatch', 'second-pass', 'lines'] as const)(
    '%s: its marks are burned clear, and its code is read off a photograph',
    async (kind) => {
      const { card, colors, fields, flat } = await burned(kind);
      // Where the middle of the first mark lies.
      const at = Math.round(5.5 / card.pitchMm);
      expect(fields.residueUm[0][at * fields.width + at]).toBeLessThan(1);
      const shot = kind === 'lines' ? { ...SHOT, width: 1800, height: 1320 } : SHOT;
      const { reading } = readCardPhoto(await photographCard(card, flat, shot), card, colors);
      expect(reading.cardId).toBe(card.id);
      expect(reading.patches).toHaveLength(card.patches.length);
    },
    240_000,
  );

  test('labels keep no more than a tenth of their strokes dark', async () => {
    const { card, picture, fields } = await burned('step-wedge');
    let [strokes, left] = [0, 0];
    for (const { box } of card.patches) {
      const [x0, x1] = [box.xMm, box.xMm + box.widthMm].map((mm) => Math.round(mm / card.pitchMm));
      const [y0, y1] = [box.yMm + box.heightMm + 0.2, box.yMm + box.heightMm + 3].map((mm) =>
        Math.round(mm / card.pitchMm),
      );
      for (let y = y0; y < y1; y++) {
        for (let x = x0; x < x1; x++) {
          // Inside a stroke: on its edge the beam comes from one side only.
          const inside = [-1, 0, 1].every((dy) =>
            [-1, 0, 1].every((dx) => picture.luminance[(y + dy) * picture.width + x + dx] > 0.5),
          );
          if (!inside) continue;
          strokes++;
          if (fields.residueUm[0][y * fields.width + x] > 5) left++;
        }
      }
    }
    expect(strokes).toBeGreaterThan(100);
    expect(left / strokes).toBeLessThan(0.1);
  }, 240_000);
});
