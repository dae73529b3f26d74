import type { ToneImage } from '../../image/picture.ts';
import { detailLost } from '../../image/repair/detail-lost.ts';
import type { Piece } from '../../piece/schema.ts';
import { acrossRadiusMm, type Case } from './case.ts';
import { applyEdits, type Change, type Finding, inFocus, type Place, towards } from './finding.ts';
import { mm, percent } from './words.ts';

/** Crops of a large picture that stand for it: so many along each side, of so many dots. */
const CROPS = 4;
const CROP_DOTS = 160;
/** Share of the fine contrast, and mean lightness that dots lose in the worst crop, from which one sees it (estimates). */
const SEEN_SHARE = 0.25;
const SEEN_LOSS = 0.025;

export interface Detail {
  /** Share of the fine contrast lost, 0–1; mean lightness lost a dot where it is worst. */
  readonly share: number;
  readonly worstLoss: number;
  readonly place: Place | null;
}

/** Detail finer than the beam, from crops all over the prepared picture; see `detailLost`. */
export function measureDetail(piece: Piece, tone: ToneImage): Detail {
  const [pass] = piece.passes;
  const pitchMm = pass.rowPitchMm;
  const radiusMm = acrossRadiusMm(piece, pass);
  const width = Math.min(CROP_DOTS, tone.width);
  const height = Math.min(CROP_DOTS, tone.height);
  const places = (whole: number, part: number) => {
    const count = Math.min(CROPS, Math.ceil(whole / part));
    return Array.from({ length: count }, (_, i) => (count > 1 ? Math.round(((whole - part) * i) / (count - 1)) : 0));
  };
  let weights = 0;
  let shares = 0;
  let worstLoss = 0;
  let place: Place | null = null;
  const crop = new Float32Array(width * height);
  for (const y0 of places(tone.height, height)) {
    for (const x0 of places(tone.width, width)) {
      let covered = 0;
      for (let y = 0; y < height; y++) {
        const from = (y0 + y) * tone.width + x0;
        crop.set(tone.lightness.subarray(from, from + width), y * width);
        for (let x = 0; x < width; x++) if (tone.mask[from + x] > 0) covered++;
      }
      if (covered < 0.9 * crop.length) continue;
      const { share, lost } = detailLost(crop, width, height, radiusMm, pitchMm);
      const loss = lost.reduce((sum, value) => sum + value, 0) / lost.length;
      // A crop counts by how much fine contrast it has, which is in proportion to what it loses.
      const weight = share > 0 ? loss / share : 0;
      weights += weight;
      shares += weight * share;
      if (loss <= worstLoss) continue;
      worstLoss = loss;
      place = {
        xMm: (x0 + width / 2) * pitchMm,
        yMm: (y0 + height / 2) * pitchMm,
        sizeMm: Math.min(width, height) * pitchMm,
      };
    }
  }
  return { share: weights > 0 ? shares / weights : 0, worstLoss, place };
}

export function findFineDetail({ piece, proof }: Case, detail: Detail): Finding | null {
  if (detail.share < SEEN_SHARE || detail.worstLoss < SEEN_LOSS) return null;
  const [pass] = piece.passes;
  const radiusMm = acrossRadiusMm(piece, pass);
  return {
    kind: 'fine-detail',
    severity: 45 * towards(detail.worstLoss, 0.05) * Math.min(1, detail.share / 0.4),
    sentence: `${percent(detail.share)} of the finest contrast is lost: the picture has detail finer than a beam of ${mm(2 * radiusMm)} across.`,
    value: detail.share,
    unit: 'share',
    place: detail.place,
    causes: ['spot'],
    change: focusChange(piece, proof.tone, detail),
  };
}

/** Only a sharper spot brings detail back. */
function focusChange(piece: Piece, tone: ToneImage, now: Detail): Change | null {
  if (piece.passes[0].focusOffsetMm === 0) return null;
  const edits = inFocus(piece);
  const { share } = measureDetail(applyEdits(piece, edits), tone);
  if (share > 0.8 * now.share) return null;
  return {
    words: 'Set the focus offset to 0 mm',
    outcome: `${percent(share)} of the finest contrast is then lost.`,
    edits,
  };
}
