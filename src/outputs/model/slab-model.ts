import type { SlabShape } from '../../render/mesh/outline.ts';
import { type FaceMap, faceNormals, faceRoughness, matteColors, type Rgba } from '../../render/model/face-map.ts';
import type { SlabParts } from '../../render/model/slab-parts.ts';
import type { CodedPicture, Model } from './glb.ts';

/** Codes a picture; where JPEG is asked for, at a quality from 0 to 1. */
export type EncodePicture = (picture: Rgba, type: 'image/png' | 'image/jpeg', quality?: number) => Promise<Uint8Array>;

/** Share of what sawn wood shows on the back: darker and rougher than its sanded face. */
const BACK_TONE = 0.8;

/** The slab as a model for GLB and USDZ. */
export async function slabModel(
  name: string,
  slab: SlabShape,
  parts: SlabParts,
  face: FaceMap,
  encode: EncodePicture,
): Promise<Model> {
  const { rimMap } = parts;
  const coded = async (
    data: Uint8Array,
    { width, height }: { width: number; height: number },
    quality: number,
  ): Promise<CodedPicture> => ({
    bytes: await encode({ width, height, data }, 'image/jpeg', quality),
    type: 'image/jpeg',
  });
  const [red, green, blue] = slab.woodColor;
  return {
    name,
    copyright: 'Computed before it is burned: wood and paint vary.',
    parts: [
      {
        name: 'face',
        mesh: parts.face,
        color: await coded(matteColors(face.color), face, 0.9),
        normal: await coded(faceNormals(face, slab.widthMm / face.width).data, face, 0.88),
        roughness: await coded(faceRoughness(face).data, face, 0.8),
      },
      {
        name: 'rim',
        mesh: parts.rim,
        color: await coded(rimMap.color, rimMap, 0.88),
        normal: await coded(rimMap.normal, rimMap, 0.9),
        roughness: 0.86,
      },
      {
        name: 'back',
        mesh: parts.back,
        color: [red * BACK_TONE, green * BACK_TONE, blue * BACK_TONE],
        normal: null,
        roughness: 0.8,
      },
    ],
  };
}
