import { fitPicture } from '../physics/bed/placed-box.ts';
import { NO_REPAIR } from '../piece/defaults.ts';
import { DEFAULT_ORDER, type Order, type Piece } from '../piece/schema.ts';

/** What an order says beside its photograph; null: as the template has it. */
export interface OrderLine {
  readonly name: string;
  readonly client: string | null;
  readonly order: Partial<Order>;
  readonly widthMm: number | null;
  readonly heightMm: number | null;
  /** Null: as large as the slab allows. */
  readonly pictureWidthMm: number | null;
}

/**
 * A new piece with the wood, coats, machine, passes, tones and terms of another, and nothing that belonged to that one's own slab or
 * photograph: no flaws, no measured film, nothing cut, healed, brushed or lettered.
 */
export function pieceFromTemplate(
  template: Piece,
  { name, client, order, widthMm, heightMm, pictureWidthMm }: OrderLine,
  photo: { readonly file: string; readonly width: number; readonly height: number },
): Piece {
  const { slab, stack, picture, passes, quote } = template;
  const [width, height] = [widthMm ?? slab.widthMm, heightMm ?? slab.heightMm];
  const sized: Piece['slab'] = {
    ...slab,
    widthMm: width,
    heightMm: height,
    outlineMm: slab.outlineMm.map(([x, y]) => [(x * width) / slab.widthMm, (y * height) / slab.heightMm]),
    knots: [],
    checks: [],
    photo: null,
  };
  const placed: Piece['picture'] = {
    ...picture,
    file: photo.file,
    offsetXMm: 0,
    offsetYMm: 0,
    rotationRad: 0,
    strokes: [],
    matte: null,
    cut: null,
    heals: [],
    lettering: picture.lettering.filter(({ kind }) => kind === 'border'),
    repair: NO_REPAIR,
  };
  return {
    ...template,
    name,
    slab: sized,
    stack: { ...stack, film: { ...stack.film, shown: 'mean', found: null } },
    picture:
      pictureWidthMm === null ? (fitPicture(sized, placed, photo) ?? placed) : { ...placed, widthMm: pictureWidthMm },
    passes: passes.map((pass) => ({ ...pass, only: null })),
    quote: { ...quote, client: client ?? quote.client },
    order: { ...DEFAULT_ORDER, ...order },
    log: [],
  };
}
