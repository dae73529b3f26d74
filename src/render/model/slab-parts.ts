import { encodeSrgbByte, luminanceOf } from '../../base/color/srgb.ts';
import { faceMesh, ringTriangles } from '../mesh/face.ts';
import { type Mesh, type OutlinePoint, periodicNoise, type SlabShape, slabOutline } from '../mesh/outline.ts';
import {
  BARK_MM,
  barkHeightAt,
  barkHeights,
  barkPlace,
  liveEdge,
  overRimMm,
  rimMesh,
  rimWidth,
  SEEN_MM,
} from '../mesh/rim.ts';
import { type WoodPicture, woodSampler } from './face-map.ts';

/** A mesh with places in its picture (u right, v down, 0–1) and tangents (x, y, z along growing u; w as in glTF 2.0, 3.7.2.1). */
export interface PaintedMesh extends Mesh {
  readonly uv: Float32Array;
  readonly tangent: Float32Array;
}

/** A slab as three meshes, mm: the face (y = 0, up), the rim with its own pictures, and the back. */
export interface SlabParts {
  readonly face: PaintedMesh;
  readonly rim: PaintedMesh;
  readonly back: PaintedMesh;
  readonly rimMap: RimMap;
}

export function slabParts(slab: SlabShape, wood: WoodPicture | null = null): SlabParts {
  const heights = barkHeights();
  return {
    face: overBox(faceMesh(slab), slab),
    rim: unrolled(slab, heights),
    back: backMesh(slab),
    rimMap: drawRim(slab, heights, wood),
  };
}

/** Picture places over the slab's bounding box as seen from above. */
function overBox(mesh: Mesh, { widthMm, heightMm }: SlabShape): PaintedMesh {
  const count = mesh.position.length / 3;
  const uv = new Float32Array(2 * count);
  const tangent = new Float32Array(4 * count);
  for (let v = 0; v < count; v++) {
    uv[2 * v] = mesh.position[3 * v] / widthMm + 0.5;
    uv[2 * v + 1] = mesh.position[3 * v + 2] / heightMm + 0.5;
    const [nx, ny] = [mesh.normal[3 * v], mesh.normal[3 * v + 1]];
    const length = Math.hypot(nx, ny) || 1;
    tangent.set([ny / length, -nx / length, 0, 1], 4 * v);
  }
  return { ...mesh, uv, tangent };
}

function unrolled(slab: SlabShape, heights: Float32Array): PaintedMesh {
  const { position, normal, edge, index } = rimMesh(slab, heights);
  const count = position.length / 3;
  const uv = new Float32Array(2 * count);
  const tangent = new Float32Array(4 * count);
  for (let v = 0; v < count; v++) {
    uv[2 * v] = edge[3 * v + 2];
    uv[2 * v + 1] = rimShare(slab, edge[3 * v]);
    // The outline runs counter-clockwise seen from above: along it is up × outwards.
    const [nx, nz] = [normal[3 * v], normal[3 * v + 2]];
    const length = Math.hypot(nx, nz) || 1;
    tangent.set([nz / length, 0, -nx / length, 1], 4 * v);
  }
  return { position, normal, index, uv, tangent };
}

const BACK_STEPS = 288;

/** The sawn back, slightly within the foot of the rim. */
function backMesh(slab: SlabShape): PaintedMesh {
  const outline = slabOutline(slab, BACK_STEPS);
  const position = new Float32Array(3 * outline.length);
  const normal = new Float32Array(3 * outline.length);
  outline.forEach((point, i) => {
    const inset = 0.3 + 1.2 * point.bark;
    position.set([point.x - point.normalX * inset, -slab.thicknessMm + 0.01, point.z - point.normalZ * inset], 3 * i);
    normal.set([0, -1, 0], 3 * i);
  });
  const up = ringTriangles(outline.map((_, i) => [position[3 * i], position[3 * i + 2]]));
  const index = Uint32Array.from(up);
  for (let i = 0; i < index.length; i += 3) [index[i + 1], index[i + 2]] = [index[i + 2], index[i + 1]];
  const box = overBox({ position, normal, index }, slab);
  for (let v = 0; v < outline.length; v++) box.tangent.set([1, 0, 0, 1], 4 * v);
  return box;
}

/** The rim unrolled: along the outline from left to right, from the paint (top) to the foot (bottom). */
interface RimMap {
  readonly width: number;
  readonly height: number;
  /** RGBA, sRGB; alpha 255. */
  readonly color: Uint8Array;
  /** RGBA: normal along the outline, up the rim, outwards, each from −1 to 1 over the codes; alpha 255. */
  readonly normal: Uint8Array;
}

const PIXELS_PER_MM = 2.6;

const WIDEST = 2048;

const BARK_SLOPE_MM = 1.5;

/** Linear rgb of young wood's dark line, bast, the furrows of bark, its plates and lichen on them (estimates for a young lime trunk). */
const CAMBIUM = [0.105, 0.058, 0.03];

const BAST = [0.27, 0.16, 0.085];

const FURROW = [0.066, 0.04, 0.024];

const PLATE = [0.215, 0.155, 0.108];

const LICHEN = [0.275, 0.235, 0.18];

/** Luminance of the bark drawn here, mean: what its furrows and plates are lighter or darker than. */
const BARK_LUMINANCE = 0.13;

/** What of a photographed rim's colours goes on down its side, mm. */
const GOES_ON_MM = 2.5;

/** Relief left to bark that was photographed with its own light and shade. */
const PHOTO_RELIEF = 0.3;

const smooth = (low: number, high: number, x: number): number => {
  const t = Math.min(1, Math.max(0, (x - low) / (high - low)));
  return t * t * (3 - 2 * t);
};

const blend = (from: readonly number[], to: readonly number[], share: number): number[] =>
  from.map((value, k) => value + (to[k] - value) * share);

/** Share of the way over the rim at which a place `out` (0 paint, 1 widest, 2 foot) is drawn: the map's v. */
const rimShare = (slab: SlabShape, out: number): number => overRimMm(slab, out) / overRimMm(slab, 2);

/** Draws bark or sawn wood round a slab, as `shaders/rim.frag` does on the table; in a photograph's colours where there is one. */
function drawRim(slab: SlabShape, barkHeights: Float32Array, photographed: WoodPicture | null = null): RimMap {
  const wood = photographed && woodSampler(photographed);
  const outline = slabOutline(slab);
  const roundMm = outline[outline.length - 1].alongMm;
  const tallMm = overRimMm(slab, 2);
  const width = Math.min(WIDEST, 2 ** Math.round(Math.log2(roundMm * PIXELS_PER_MM)));
  const height = Math.max(16, Math.round(tallMm * PIXELS_PER_MM));
  const color = new Uint8Array(width * height * 4).fill(255);
  const normal = new Uint8Array(width * height * 4).fill(255);
  const { wayMm, followsTrunk } = barkPlace(slab, roundMm);
  const bumps = new Float32Array(width * height);
  for (let x = 0; x < width; x++) {
    const share = (x + 0.5) / width;
    const edge = pointAt(outline, share * roundMm);
    const live = edge.bark;
    const photoAt = (out: number, spanMm: number): number[] => {
      const drawnBack = rimWidth(live, share) * (1 - Math.min(1, out)) + liveEdge(live, share);
      const inset = Math.max(SEEN_MM, drawnBack);
      return wood!(edge.x - edge.normalX * inset, edge.z - edge.normalZ * inset, spanMm);
    };
    const goesOn = wood && photoAt(1, GOES_ON_MM);
    const cells = (mm: number) => Math.max(1, Math.round(roundMm / mm));
    const noise = (xMm: number, overMm: number, yMm: number, octave: number) =>
      periodicNoise(share * cells(xMm), overMm / yMm, cells(xMm), 4096, octave);
    for (let y = 0; y < height; y++) {
      const overMm = ((y + 0.5) / height) * tallMm;
      const out = overMm < BARK_MM ? overMm / BARK_MM : 1 + (overMm - BARK_MM) / slab.thicknessMm;
      const speck = 0.5 * noise(0.7, overMm, 0.7, 1) + 0.5 * noise(1.9, overMm, 1.6, 2);
      const mood = noise(17, overMm, 14, 3);
      const tone = slab.cut === 'plank' ? plankTone(noise, overMm) : sliceTone(noise, overMm);
      let albedo = slab.woodColor.map((value) => value * tone * (0.93 + 0.14 * speck));
      let bump = 0.05 * speck;
      let bark = 0;
      if (live > 0) {
        const crust = followsTrunk
          ? barkHeightAt(barkHeights, overMm, share * wayMm)
          : barkHeightAt(barkHeights, share * wayMm, overMm);
        const layer = out + (speck - 0.5) * 0.05 + (mood - 0.5) * 0.06;
        albedo = blend(
          albedo,
          blend(
            CAMBIUM,
            BAST.map((v) => v * (0.7 + 0.6 * speck)),
            smooth(0.35, 0.4, layer),
          ),
          smooth(0.27, 0.31, layer) * live,
        );
        bark = smooth(0.5, 0.66, layer + 0.12 * (crust - 0.5)) * live;
        const plate = blend(PLATE, LICHEN, smooth(0.55, 0.8, mood)).map((v) => v * (0.7 + 0.6 * speck));
        const ridge = smooth(0.2, 0.72, crust);
        albedo = blend(
          albedo,
          blend(FURROW, plate, ridge).map((v) => v * (0.55 + 0.45 * ridge)),
          bark,
        );
        bump += bark * (BARK_SLOPE_MM * crust + 0.25 * speck);
      }
      if (goesOn) {
        const side = smooth(0.96, 1.12, out);
        const usual = luminanceOf(slab.woodColor) + bark * (BARK_LUMINANCE - luminanceOf(slab.woodColor));
        const tone = Math.min(1.6, Math.max(0.4, luminanceOf(albedo) / usual));
        const down = goesOn.map((value) => value * tone);
        albedo = side < 1 ? blend(photoAt(out, 1 / PIXELS_PER_MM), down, side) : down;
        bump *= PHOTO_RELIEF + (1 - PHOTO_RELIEF) * side;
      }
      const at = 4 * (y * width + x);
      for (let k = 0; k < 3; k++) color[at + k] = encodeSrgbByte(albedo[k]);
      bumps[y * width + x] = bump;
    }
  }
  const stepX = (2 * roundMm) / width;
  const stepY = (2 * tallMm) / height;
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const at = (px: number, py: number) =>
        bumps[Math.min(height - 1, Math.max(0, py)) * width + ((px + width) % width)];
      const along = (at(x + 1, y) - at(x - 1, y)) / stepX;
      const down = (at(x, y + 1) - at(x, y - 1)) / stepY;
      const length = Math.hypot(along, down, 1);
      [-along, down, 1].forEach((value, k) => {
        normal[4 * (y * width + x) + k] = Math.round(127.5 + (127.5 * value) / length);
      });
    }
  }
  return { width, height, color, normal };
}

type Noise = (xMm: number, overMm: number, yMm: number, octave: number) => number;

/** Fibres run down the side of a slice and along the side of a plank. */
const sliceTone = (noise: Noise, overMm: number): number =>
  0.78 + 0.16 * noise(0.9, overMm, 30, 4) + 0.14 * noise(5, overMm, 90, 5) + 0.08 * noise(31, overMm, 60, 6);

const plankTone = (noise: Noise, overMm: number): number =>
  0.78 + 0.18 * noise(70, overMm, 1.7, 4) + 0.12 * noise(26, overMm, 0.6, 5) + 0.08 * noise(120, overMm, 9, 6);

/** The outline's point at or after a way along it. */
function pointAt(outline: readonly OutlinePoint[], alongMm: number): OutlinePoint {
  let low = 0;
  let high = outline.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (outline[middle].alongMm < alongMm) low = middle + 1;
    else high = middle;
  }
  return outline[low];
}
