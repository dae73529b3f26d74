import { spotRadii } from '../../physics/beam/source.ts';
import type { Piece } from '../../piece/schema.ts';
import { bandsOf } from '../sure/how-sure.ts';
import { acrossRadiusMm, type Case, heightsOf, strongestPass } from './case.ts';
import { clearingChange } from './clearing-change.ts';
import { type Cause, type Finding, towards } from './finding.ts';
import type { LightOutlook } from './outlook.ts';
import { worstPlace } from './places.ts';
import { stripShare } from './strips.ts';
import { mm, percent, points } from './words.ts';

/** Uncleared shares that are not worth a word, and below which a trial counts as clearing. */
const UNSEEN_SHARE = 0.01;
const CLEARS_SHARE = 0.02;
/** Most of the residue is gone where this share of it stays. */
const MOSTLY = 0.4;
/** Shares of the width between rows: dark strips stay, and the middle of the rows is open. */
const STRIPS_FROM = 0.05;
const STRIPS_TO = 0.95;
/** A spot out of focus is worth a word when it is so much wider than in focus. */
const BLURRED = 1.1;

/** Light areas that keep residue, with the reason. */
export async function findUncleared(of: Case): Promise<Finding[]> {
  const { piece, proof, sums, outlooks, runner } = of;
  const { lightShare } = proof.summary;
  // What the figures say too: the middle of all cases, which a single film need not show.
  const unclearedShare = bandsOf(of.judgement, of.judge.lit).uncleared?.middle ?? 0;
  if (proof.direction !== 'lightens' || lightShare === 0) return [];
  const warmthsK = of.warmthsK;
  const strips = await stripShare(piece, proof.appearance, runner, warmthsK);
  const striped = strips > STRIPS_FROM && strips < STRIPS_TO;
  const { blocks } = sums;
  const place = worstPlace(blocks, (block) => blocks.uncleared[block]);
  if (unclearedShare < UNSEEN_SHARE) return [];

  const now = await outlooks.light(piece);
  const cause = await causeOf(of, now, striped);
  const change = await clearingChange(of, now, cause);
  return [
    {
      kind: 'uncleared',
      severity: 100 * towards(unclearedShare * Math.min(1, lightShare / 0.08), 0.04),
      sentence: `${percent(unclearedShare)} of the light areas’ dots will keep dark residue: ${reason(of, cause, strips)}.`,
      value: unclearedShare,
      unit: 'share',
      place,
      causes: [cause],
      change,
    },
  ];
}

/** Asks what would clear the light areas: what is out of the ordinary first, then the film, then what only takes more energy. */
async function causeOf(of: Case, now: LightOutlook, striped: boolean): Promise<Cause> {
  const { piece, outlooks } = of;
  const light = async (other: Piece, options = {}) => (await outlooks.light(other, options)).uncleared;
  const clears = (share: number) => share < Math.max(CLEARS_SHARE, 0.15 * now.uncleared);
  const passes = (edit: (pass: Piece['passes'][number]) => object): Piece => ({
    ...piece,
    passes: piece.passes.map((pass) => ({ ...pass, ...edit(pass) })),
  });
  const inFocus = passes(() => ({ focusOffsetMm: 0 }));
  const blurred = piece.passes.some(
    (pass, i) => acrossRadiusMm(piece, pass) > BLURRED * acrossRadiusMm(piece, inFocus.passes[i]),
  );
  if (blurred && clears(await light(inFocus))) return 'focus';
  if (striped) {
    const close = passes((pass) => ({ rowPitchMm: Math.min(pass.rowPitchMm, acrossRadiusMm(piece, pass)) }));
    if (clears(await light(close))) return 'row-pitch';
  }
  // Patches lie flat: what they do not know of comes from the slab's warp.
  if (now.uncleared < CLEARS_SHARE && isWarped(of)) return 'slab-not-flat';
  // An even film need not clear all: it is to blame for most of what stays, where it is known to be thick.
  const even = isThickThere(of) && (await light(piece, { evenFilm: true }));
  if (even !== false && even < Math.max(CLEARS_SHARE, MOSTLY * now.uncleared)) return 'film';
  const stronger = passes((pass) => ({ lightEndPower: Math.min(1, pass.lightEndPower + 0.1) }));
  if (piece.passes.some((pass) => pass.lightEndPower < 0.995) && clears(await light(stronger))) return 'power';
  const slower = passes((pass) => ({ feedMmPerS: pass.feedMmPerS / 2 }));
  if (piece.passes.every((pass) => pass.lightEndPower > 0.9) && clears(await light(slower))) return 'feed';
  return blurred ? 'focus' : 'power';
}

function isWarped({ piece, proof }: Case): boolean {
  const [low, high] = heightsOf(piece, proof.grid);
  const pass = piece.passes[strongestPass(piece)];
  const radius = (heightMm: number) => spotRadii(piece.machine.source, pass, heightMm).acrossMm;
  return Math.max(radius(low), radius(high)) > BLURRED * radius(0);
}

function reason(of: Case, cause: Cause, strips: number): string {
  const { piece } = of;
  const pass = piece.passes[strongestPass(piece)];
  const power = points(pass.lightEndPower);
  switch (cause) {
    case 'focus':
      return `the focus is ${mm(Math.abs(pass.focusOffsetMm))} off, which spreads the beam to a radius of ${mm(acrossRadiusMm(piece, pass))}`;
    case 'row-pitch':
      return `rows ${mm(pass.rowPitchMm)} apart are too far for a spot of ${mm(acrossRadiusMm(piece, pass))} radius, and strips of ${percent(strips)} of the width between them stay dark`;
    case 'slab-not-flat':
      return 'the slab is not flat, and its high or low parts are out of focus; planing it flat helps most';
    case 'film': {
      const [top] = piece.stack.coats;
      const thick = filmWhereUncleared(of);
      return `the top coat is ${thick.toFixed(0)} µm thick there where ${top.dryThicknessUm.toFixed(0)} µm is its mean, and ${power} power does not get through`;
    }
    case 'feed':
      return 'the beam passes too fast even at its full power';
    default:
      return `${power} power is too weak for the top coat at this feed`;
  }
}

/** Films that differ less from their mean are not told of. */
const THICK = 1.02;

const isThickThere = (of: Case): boolean =>
  filmWhereUncleared(of) > THICK * (of.piece.stack.coats[0]?.dryThicknessUm ?? 0);

/** Mean film of the topmost coat over the uncleared cells, µm. */
function filmWhereUncleared({ piece, sums, scene }: Case): number {
  const { blocks } = sums;
  let sum = 0;
  let count = 0;
  for (let y = 0; y < blocks.height; y++) {
    for (let x = 0; x < blocks.width; x++) {
      const uncleared = blocks.uncleared[y * blocks.width + x];
      if (uncleared === 0) continue;
      const at = (i: number, pixels: number) =>
        Math.min(pixels - 1, Math.floor(((i + 0.5) * blocks.pitchMm) / scene.pitchMm));
      sum += uncleared * scene.ground.film[at(y, scene.height) * scene.width + at(x, scene.width)];
      count += uncleared;
    }
  }
  return (count > 0 ? sum / count : 1) * (piece.stack.coats[0]?.dryThicknessUm ?? 0);
}
