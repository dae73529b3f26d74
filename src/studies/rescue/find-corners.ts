import { Cancelled } from '../../base/cancelled.ts';
import type { Point } from '../../base/geometry/point.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import type { CoarseProof } from '../../burn/coarse.ts';
import type { Photo } from '../../burn/prepare.ts';
import { createFace } from '../../physics/raster/face.ts';
import type { Piece } from '../../piece/schema.ts';
import type { TileLuminance } from '../../vision/burned/burned-luminance.ts';
import { greyOf } from '../../vision/burned/grey.ts';
import { type LinedUp, lineUp } from '../../vision/burned/line-up.ts';
import type { RescueTools } from './rescue-scene.ts';

/** Tiles along the slab's longer side. */
const TILES = 240;
/** Rim that is left out: bark, tape and shadow differ. */
const RIM_MM = 1.5;
/** Below this the two are not told to be the same face; wrong places and wrong slabs stay under a half. */
const ALIKE = 0.6;

/**
 * Finds the slab in a photograph of it as it came out, by what it is expected to look like.
 * @param near corners to begin from, if the maker has laid them roughly; otherwise they are looked for all over the photo.
 * @returns null if nothing in the photo is alike enough. @throws Cancelled if told to stop.
 */
export async function findCorners(
  piece: Piece,
  photo: Photo,
  burned: RgbaPhoto,
  tools: RescueTools,
  near: readonly Point[] | null = null,
  onShare: (share: number) => void = () => {},
): Promise<LinedUp | null> {
  const look = await tools.coarse.coarse(piece, photo, tools.appearance(piece), tools.runner);
  const starts = near ? [near] : allOver(piece, burned);
  const found = await lineUp(expectedTiles(piece, look), greyOf(burned), starts, async (share) => {
    onShare(share);
    if (tools.goOn && !(await tools.goOn())) throw new Cancelled();
  });
  return found.correlation >= ALIKE ? found : null;
}

/** Lightness of the face as it is expected: the picture, and unburned coat round it. */
function expectedTiles({ slab, stack, picture }: Piece, look: CoarseProof): TileLuminance {
  const pitchMm = Math.max(slab.widthMm, slab.heightMm) / TILES;
  const columns = Math.round(slab.widthMm / pitchMm);
  const rows = Math.round(slab.heightMm / pitchMm);
  const [leftMm, topMm] = [-slab.widthMm / 2, -slab.heightMm / 2];
  const face = createFace(slab);
  const rimMm = RIM_MM + slab.maskedRimMm;
  const coat = (stack.coats[0] ?? slab.wood).colorLab[0] / 100;
  const { values: shown } = greyOf({ ...look, rgba: look.color });
  const leftOfLook = picture.offsetXMm - (look.width * look.pitchMm) / 2;
  const topOfLook = picture.offsetYMm - (look.height * look.pitchMm) / 2;
  const luminance = new Float32Array(columns * rows).fill(Number.NaN);
  for (let row = 0; row < rows; row++) {
    const yMm = topMm + (row + 0.5) * pitchMm;
    const y = Math.floor((yMm - topOfLook) / look.pitchMm);
    for (let column = 0; column < columns; column++) {
      const xMm = leftMm + (column + 0.5) * pitchMm;
      if (face.rimDistanceMm(xMm, yMm) < rimMm) continue;
      const x = Math.floor((xMm - leftOfLook) / look.pitchMm);
      const inside = x >= 0 && y >= 0 && x < look.width && y < look.height;
      luminance[row * columns + column] = inside ? shown[y * look.width + x] : coat;
    }
  }
  return { columns, rows, pitchMm, leftMm, topMm, luminance };
}

/** Shares of the photo that the slab may fill, how far off its middle (shares of its sides), and how askew (rad). */
const FILLS = [0.6, 0.75, 0.92];
const OFF: readonly Point[] = [
  [0, 0],
  [-0.08, 0],
  [0.08, 0],
  [0, -0.08],
  [0, 0.08],
];
const ASKEW = [-0.15, 0, 0.15];
const QUARTERS = [0, 1, 2, 3];

/** Boxes all over a photo: as it lies, upside down, on either side. */
function allOver({ slab }: Piece, { width, height }: RgbaPhoto): Point[][] {
  return QUARTERS.flatMap((quarter) => {
    const upright = quarter % 2 === 0;
    const [wide, high] = upright ? [slab.widthMm, slab.heightMm] : [slab.heightMm, slab.widthMm];
    const fit = Math.min(width / wide, height / high);
    return FILLS.flatMap((fill) =>
      OFF.flatMap(([dx, dy]) =>
        ASKEW.map((askew) => {
          const [c, s] = [Math.cos(askew + (quarter * Math.PI) / 2), Math.sin(askew + (quarter * Math.PI) / 2)];
          const [a, b] = [(fit * fill * slab.widthMm) / 2, (fit * fill * slab.heightMm) / 2];
          return [
            [-a, -b],
            [a, -b],
            [a, b],
            [-a, b],
          ].map(([x, y]): Point => [width * (0.5 + dx) + c * x - s * y, height * (0.5 + dy) + s * x + c * y]);
        }),
      ),
    );
  });
}
