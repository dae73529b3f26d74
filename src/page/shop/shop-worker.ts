import type { Piece } from '../../piece/schema.ts';
import { type BedSize, type LaidSlab, laidPiece, layOnBed, slabToLay } from '../../shop/bed.ts';
import { type Materials, materialsOf } from '../../shop/materials.ts';
import { type Plan, type PlanJob, type PlanTerms, planDays } from '../../shop/plan.ts';
import { plateDrawing } from '../../shop/plate.ts';
import { serveQuestions } from '../remote/serve.ts';

/** A piece that is to lie on a bed, with its photograph's size. */
export interface ToLay {
  readonly id: string;
  readonly piece: Piece;
  readonly photo: { readonly width: number; readonly height: number };
}

export interface FullBed {
  readonly laid: readonly LaidSlab[];
  /** From above, SVG. */
  readonly drawing: string;
}

export interface ShopQuestions {
  /** What is done when, and what it takes. */
  readonly plan: {
    readonly asks: { readonly jobs: readonly PlanJob[]; readonly terms: PlanTerms };
    readonly gets: { readonly plan: Plan; readonly materials: Materials };
  };
  /** Slabs laid on as many beds as they need. */
  readonly bed: {
    readonly asks: { readonly slabs: readonly ToLay[]; readonly bed: BedSize };
    readonly gets: { readonly beds: readonly FullBed[]; readonly left: readonly string[] };
  };
}

serveQuestions<ShopQuestions>({
  async plan({ jobs, terms }) {
    // What is painted has its slab and its paint.
    const unpainted = jobs.filter(({ piece }) => ['idea', 'prepared'].includes(piece.order.state));
    const materials = materialsOf(unpainted.map(({ piece }) => piece));
    return { gets: { plan: planDays(jobs, terms), materials } };
  },
  async bed({ slabs, bed }) {
    const byId = new Map(slabs.map((slab) => [slab.id, slab]));
    const { beds, left } = layOnBed(
      slabs.map(({ id, piece, photo }) => slabToLay(id, piece, photo)),
      bed,
    );
    const drawn = beds.map((laid): FullBed => {
      const plates = laid.map((one) => {
        const { piece, photo } = byId.get(one.id)!;
        const never = () => Promise.reject(new Error('a drawing needs no photograph'));
        return { name: one.id, piece: laidPiece(piece, one, bed), photo: never, photoSize: photo };
      });
      return { laid, drawing: plateDrawing(plates) };
    });
    return { gets: { beds: drawn, left } };
  },
});
