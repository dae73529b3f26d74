import type { BoundsMm, Point, Polygon } from '../../../base/geometry/outline.ts';
import type { Defect } from '../../../vision/slab/defects.ts';
import type { Marks } from '../../../vision/slab/scale.ts';
import type { Quarters } from '../../../vision/slab/slab-part.ts';
import type { Face, RimReading } from './slab-photo-store.ts';

/** What the dialog asks of its worker; outlines are as the face was found, without its turns. */
export interface SlabQuestions {
  /** The photograph, and the corners of the bank card in it if one is found. */
  readonly open: {
    readonly asks: { readonly file: File };
    readonly gets: { readonly bitmap: ImageBitmap; readonly card: readonly Point[] | null };
  };
  readonly find: {
    readonly asks: {
      readonly file: File;
      readonly marks: Marks;
      readonly k1: number;
      readonly faceId: number;
    };
    readonly gets: {
      readonly outline: Polygon;
      readonly face: Face;
      readonly rim: RimReading;
      readonly defects: readonly Defect[];
      readonly notes: readonly string[];
    };
  };
  /** Reads the rim of a face anew. */
  readonly rim: {
    readonly asks: { readonly faceId: number; readonly outline: Polygon };
    readonly gets: RimReading;
  };
  /** The picture to keep with the slab: a JPEG, and its place in the turned frame. */
  readonly keep: {
    readonly asks: {
      readonly file: File;
      readonly marks: Marks;
      readonly k1: number;
      readonly outline: Polygon;
      readonly shift: Point;
      readonly quarters: Quarters;
    };
    readonly gets: { readonly jpeg: Uint8Array; readonly box: BoundsMm };
  };
  readonly paste: {
    readonly asks: { readonly text: string };
    readonly gets: { readonly outline: Polygon; readonly notes: readonly string[] };
  };
}
