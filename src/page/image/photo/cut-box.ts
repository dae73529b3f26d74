import type { Point } from '../../../base/geometry/outline.ts';
import type { Cut } from '../../../piece/schema.ts';

/**
 * A cut as it is worked on: its box lies straight and the photograph is turned under it. Places are shares of the photograph's width from
 * its middle, along the box's own sides.
 */
export interface StraightBox {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** All of a photograph; `tall` is its height over its width, here and below. */
export const wholeCut = (tall: number): Cut => ({
  xMiddle: 0.5,
  yMiddle: tall / 2,
  width: 1,
  height: tall,
  turnRad: 0,
});

export function straightBox({ xMiddle, yMiddle, width, height, turnRad }: Cut, tall: number): StraightBox {
  const [cosine, sine] = [Math.cos(turnRad), Math.sin(turnRad)];
  const [dx, dy] = [xMiddle - 0.5, yMiddle - tall / 2];
  const [u, v] = [dx * cosine + dy * sine, dy * cosine - dx * sine];
  return { left: u - width / 2, top: v - height / 2, right: u + width / 2, bottom: v + height / 2 };
}

function cutOf({ left, top, right, bottom }: StraightBox, turnRad: number, tall: number): Cut {
  const [cosine, sine] = [Math.cos(turnRad), Math.sin(turnRad)];
  const [u, v] = [(left + right) / 2, (top + bottom) / 2];
  return {
    xMiddle: 0.5 + u * cosine - v * sine,
    yMiddle: tall / 2 + u * sine + v * cosine,
    width: right - left,
    height: bottom - top,
    turnRad,
  };
}

/** Width and height of the turned photograph's own box. */
export function turnedSize(turnRad: number, tall: number): readonly [width: number, height: number] {
  const [cosine, sine] = [Math.abs(Math.cos(turnRad)), Math.abs(Math.sin(turnRad))];
  return [cosine + tall * sine, sine + tall * cosine];
}

/** What rounding may leave over. */
const HAIR = 1e-9;

/** Shares of the photograph's width below which a side does not go. */
const SHORTEST = 0.02;

/** Whether all of a cut lies in the photograph. */
export function isInPhoto({ xMiddle, yMiddle, width, height, turnRad }: Cut, tall: number): boolean {
  const [cosine, sine] = [Math.abs(Math.cos(turnRad)), Math.abs(Math.sin(turnRad))];
  const halfX = (width * cosine + height * sine) / 2 - HAIR;
  const halfY = (width * sine + height * cosine) / 2 - HAIR;
  return xMiddle >= halfX && xMiddle <= 1 - halfX && yMiddle >= halfY && yMiddle <= tall - halfY;
}

/** As far from one cut towards another as stays in the photograph; the first one must. The ways to go are convex. */
function towards(from: StraightBox, to: StraightBox, turnRad: number, tall: number): Cut {
  const between = (share: number) => {
    const mix = (one: number, other: number) => one + share * (other - one);
    const box = {
      left: mix(from.left, to.left),
      top: mix(from.top, to.top),
      right: mix(from.right, to.right),
      bottom: mix(from.bottom, to.bottom),
    };
    return cutOf(box, turnRad, tall);
  };
  if (isInPhoto(between(1), tall)) return between(1);
  let [low, high] = [0, 1];
  for (let round = 0; round < 30; round++) {
    const middle = (low + high) / 2;
    if (isInPhoto(between(middle), tall)) low = middle;
    else high = middle;
  }
  return between(low);
}

/** A cut under another turn of the photograph: about its middle, as large as it was wanted or as fits. */
export function straightenedCut(wanted: Cut, turnRad: number, tall: number): Cut {
  const { xMiddle, yMiddle } = wanted;
  const inside = (value: number, most: number) => Math.min(most - SHORTEST, Math.max(SHORTEST, value));
  const place = { xMiddle: inside(xMiddle, 1), yMiddle: inside(yMiddle, tall), turnRad };
  const full = straightBox({ ...wanted, ...place }, tall);
  const least = straightBox({ ...wanted, ...place, width: 0, height: 0 }, tall);
  return towards(least, full, turnRad, tall);
}

/** A cut moved along its own sides, each way for itself as far as the photograph goes. */
export function movedCut(cut: Cut, [du, dv]: Point, tall: number): Cut {
  const shifted = (one: Cut, u: number, v: number) => {
    const box = straightBox(one, tall);
    const to = { left: box.left + u, top: box.top + v, right: box.right + u, bottom: box.bottom + v };
    return towards(box, to, one.turnRad, tall);
  };
  return shifted(shifted(cut, du, 0), 0, dv);
}

/** Which sides a handle pulls: −1 left or top, 1 right or bottom, 0 neither. */
export type Handle = readonly [across: -1 | 0 | 1, down: -1 | 0 | 1];

/** A cut pulled by a handle by so much; `ratio`, width over height, is kept if one is given. What is not pulled stays. */
export function pulledCut(cut: Cut, [across, down]: Handle, [du, dv]: Point, ratio: number | null, tall: number): Cut {
  const box = straightBox(cut, tall);
  let [width, height] = [Math.max(SHORTEST, cut.width + across * du), Math.max(SHORTEST, cut.height + down * dv)];
  if (ratio !== null) {
    if (across === 0) width = height * ratio;
    else if (down === 0) height = width / ratio;
    else {
      // The farther of the two pulls counts.
      const byWidth = Math.abs(width / cut.width - 1) >= Math.abs(height / cut.height - 1);
      if (byWidth) height = width / ratio;
      else width = height * ratio;
    }
  }
  const side = (low: number, high: number, pulled: -1 | 0 | 1, length: number): [number, number] =>
    pulled === 1
      ? [low, low + length]
      : pulled === -1
        ? [high - length, high]
        : [(low + high - length) / 2, (low + high + length) / 2];
  const [left, right] = side(box.left, box.right, across, width);
  const [top, bottom] = side(box.top, box.bottom, down, height);
  return towards(box, { left, top, right, bottom }, cut.turnRad, tall);
}

/** The largest cut of a ratio, width over height, within what another one covers, about the same middle. */
export function cutOfRatio(cut: Cut, ratio: number): Cut {
  const width = Math.min(cut.width, cut.height * ratio);
  return { ...cut, width, height: width / ratio };
}

/** A cut as it is kept: null where it holds all of the photograph. */
export function keptCut(cut: Cut, tall: number): Cut | null {
  const round = (value: number) => Math.round(value * 1e5) / 1e5;
  const isWhole = cut.turnRad === 0 && cut.width > 1 - 1e-4 && cut.height > tall - 1e-4;
  if (isWhole) return null;
  return {
    xMiddle: round(cut.xMiddle),
    yMiddle: round(cut.yMiddle),
    width: Math.max(0.005, Math.floor(cut.width * 1e5) / 1e5),
    height: Math.max(0.005, Math.floor(cut.height * 1e5) / 1e5),
    turnRad: cut.turnRad,
  };
}
