import { describe, expect, test } from 'vitest';
import { burnDirection } from '../../src/physics/material/appearance.ts';
import { contrastRatio, HIDING_CONTRAST } from '../../src/physics/material/hiding.ts';
import { coatAbsorptance } from '../../src/physics/material/layers.ts';
import { FIRST_PAINT, PAINTS, type PaintId, paintJobOf, paintStack, TIMES } from '../../src/physics/material/paints.ts';
import { createPiece, DEFAULT_STACK } from '../../src/piece/defaults.ts';
import { decodePieceFile, encodePieceFile } from '../../src/piece/file.ts';

const NM = 450;
const paints = Object.keys(PAINTS) as PaintId[];

describe('paints to start from', () => {
  test.each(paints)('%s lightens under the beam, and its coats hide once two are on', (paint) => {
    const [top, under] = paintStack({ paint, laid: 'sprayed', times: 2 }, NM);
    const piece = createPiece('', '');
    expect(burnDirection({ ...piece.stack, coats: [top, under] }, piece.slab.wood)).toBe('lightens');
    expect(contrastRatio(top, top.dryThicknessUm)).toBeGreaterThan(HIDING_CONTRAST);
    expect(under.colorLab[0] - top.colorLab[0]).toBeGreaterThan(50);
  });

  test('more coats and a brush leave a thicker film; the paint itself stays the same', () => {
    const um = TIMES.map((times) => paintStack({ ...FIRST_PAINT, times }, NM)[0].dryThicknessUm);
    expect(um).toEqual([12.5, 25, 37.5, 62.5]);
    const [brushed] = paintStack({ ...FIRST_PAINT, laid: 'brushed' }, NM);
    expect(brushed.dryThicknessUm).toBeGreaterThan(um[1]);
    expect(brushed.application.kind).toBe('brushed');
    expect(brushed.thresholdJPerMm2).toBe(DEFAULT_STACK.coats[0].thresholdJPerMm2);
  });

  test('the first is the default stack but for its names and how it was laid', () => {
    const [top, under] = paintStack(FIRST_PAINT, NM);
    const [peat, oat] = DEFAULT_STACK.coats;
    expect({ ...top, name: peat.name, application: peat.application, absorptance: peat.absorptance }).toEqual(peat);
    expect({ ...under, name: oat.name, application: oat.application, absorptance: oat.absorptance }).toEqual(oat);
    expect(Math.abs(top.absorptance - peat.absorptance)).toBeLessThan(0.01);
  });

  test('what is taken up follows from the wavelength', () => {
    const [, under] = paintStack(FIRST_PAINT, 10_600);
    expect(under.absorptance).toBeCloseTo(coatAbsorptance(under.colorLab, 10_600), 3);
    expect(under.absorptance).toBeGreaterThan(0.9);
  });

  test('are known again from a saved piece, and coats with a number changed are not', () => {
    for (const paint of paints) {
      for (const laid of ['sprayed', 'brushed'] as const) {
        const job = { paint, laid, times: 3 };
        const piece = createPiece('x', 'x.jpg');
        const coats = paintStack(job, NM);
        const bytes = encodePieceFile({ piece: { ...piece, stack: { ...piece.stack, coats } }, images: new Map() });
        const back = decodePieceFile(bytes).piece.stack.coats;
        expect(paintJobOf(back, NM)).toEqual(job);
        expect(paintJobOf([{ ...back[0], dryThicknessUm: 31 }, back[1]], NM)).toBeNull();
      }
    }
    expect(paintJobOf([], NM)).toBeNull();
    expect(paintJobOf(DEFAULT_STACK.coats, NM)).toBeNull();
  });
});
