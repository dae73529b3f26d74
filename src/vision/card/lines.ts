import { rayleighLengthMm } from '../../physics/beam/gaussian.ts';
import type { Piece } from '../../piece/schema.ts';
import type { Card, CardBurn, CardLine } from './card.ts';
import { EDGE_MM, INNER_TOP_MM, MARK_MM } from './geometry.ts';
import { type CardWish, evenBurn, likelyClearing } from './make-card.ts';

const LINE_MM = 10;
/** Lines are this far apart, so that none finds the heat or the groove of the one before. */
const APART_MM = 3;
/** Heights of focus in Rayleigh lengths. */
const FOCUS_STEPS = [-0.8, -0.4, 0, 0.4, 0.8];

/**
 * Single lines at rising power, along the rows and across them (an oval spot), the same power at several heights of focus, and a
 * vernier of both directions. Powers go from where a single line just shows to four times that: a lone line gets one crossing only.
 */
export function lineParts(piece: Piece, wish: CardWish): Pick<Card, 'lines' | 'vernier'> {
  const [top] = piece.stack.coats;
  const { spotAcrossMm, fullPowerW } = piece.machine.source;
  const feed = piece.passes[0].feedMmPerS;
  // What clears by one crossing; at the feed of the piece that may be beyond full power: then the lines run slower.
  const single =
    ((top.thresholdJPerMm2 + top.specificEnergyJPerMm3 * top.dryThicknessUm * 1e-3) * feed * spotAcrossMm) /
    (top.absorptance * fullPowerW * Math.sqrt(2 / Math.PI));
  const strongest = 3 * single;
  const high = Math.min(1, Math.max(strongest, likelyClearing(piece)));
  const slower = Math.min(1, high / strongest);
  const even: Partial<CardBurn> = { feedMmPerS: feed * slower };
  const height = wish.heightMm - INNER_TOP_MM - EDGE_MM - MARK_MM - 2;
  const count = Math.min(12, Math.max(4, Math.floor(height / APART_MM)));
  const power = (i: number) => Math.round(255 * (0.3 + (0.7 * i) / (count - 1))) / 255;
  const line = (id: string, label: string, xMm: number, yMm: number, across: boolean, burn: CardBurn): CardLine => ({
    id,
    label,
    box: { xMm, yMm, widthMm: across ? 0 : LINE_MM, heightMm: across ? LINE_MM : 0 },
    burn,
  });
  const lines: CardLine[] = [];
  const left = EDGE_MM + 2;
  for (let i = 0; i < count; i++) {
    lines.push(
      line(
        `a${i + 1}`,
        String(i + 1),
        left,
        INNER_TOP_MM + 1 + i * APART_MM,
        false,
        evenBurn(piece, high, { ...even, lightness: power(i) }),
      ),
    );
  }
  const secondX = left + LINE_MM + 8;
  const across = Math.min(count, Math.floor((wish.widthMm - secondX - EDGE_MM) / APART_MM));
  for (let i = 0; i < across; i++) {
    const share = across > 1 ? Math.round((i * (count - 1)) / (across - 1)) : 0;
    lines.push(
      line(
        `c${i + 1}`,
        String(share + 1),
        secondX + i * APART_MM,
        INNER_TOP_MM + 1,
        true,
        evenBurn(piece, high, { ...even, lightness: power(share), headingRad: Math.PI / 2 }),
      ),
    );
  }
  const below = INNER_TOP_MM + LINE_MM + 7;
  const { wavelengthNm, beamQuality } = piece.machine.source;
  const rayleighMm = rayleighLengthMm(spotAcrossMm, wavelengthNm, beamQuality);
  FOCUS_STEPS.forEach((step, i) => {
    const offset = Math.min(50, Math.max(-50, Math.round(2 * step * rayleighMm) / 2));
    if (below + i * APART_MM > wish.heightMm - EDGE_MM - MARK_MM - 2) return;
    const focusOffsetMm = piece.passes[0].focusOffsetMm + offset;
    lines.push(
      line(
        `f${i + 1}`,
        String(offset),
        secondX,
        below + i * APART_MM,
        false,
        evenBurn(piece, high, { ...even, focusOffsetMm }),
      ),
    );
  });
  const vernierX = secondX + LINE_MM + 8;
  const teeth = 2 * Math.floor(Math.min(10, (wish.widthMm - vernierX - EDGE_MM - 2) / 3)) + 1;
  const room = below + 6 <= wish.heightMm - EDGE_MM - MARK_MM - 1 && teeth >= 5;
  const burn = evenBurn(piece, Math.min(1, 1.5 * likelyClearing(piece)));
  const box = { xMm: vernierX, yMm: below, widthMm: teeth * 1.5 + 3, heightMm: 6 };
  return { lines, vernier: room ? { box, teeth, pitchMm: 1.5, stepMm: 0.05, burn } : null };
}
