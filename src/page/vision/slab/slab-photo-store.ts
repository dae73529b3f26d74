import { create } from 'zustand';
import type { BoundsMm, Point, Polygon } from '../../../base/geometry/outline.ts';
import type { Defect } from '../../../vision/slab/defects.ts';
import type { Marks } from '../../../vision/slab/scale.ts';
import type { Quarters } from '../../../vision/slab/slab-part.ts';
import { createTask } from '../../remote/task.ts';

/** The photograph that is open, at most about 2000 pixels a side. */
export interface SlabPhoto {
  readonly file: File;
  readonly bitmap: ImageBitmap;
  readonly width: number;
  readonly height: number;
  /** A bank card was found in it by itself. */
  readonly hasCard: boolean;
}

/** What the maker does here, undone step by step; none of it touches the piece until it is taken over. */
interface SlabWork {
  readonly marks: SlabMarks;
  readonly draft: Draft | null;
  readonly shows: 'marks' | 'outline';
}

interface SlabPhotoState {
  readonly open: boolean;
  readonly photo: SlabPhoto | null;
  readonly work: SlabWork;
  readonly past: readonly SlabWork[];
  readonly future: readonly SlabWork[];
  /** Edits that follow with the same name become one step. */
  readonly merge: string | null;
  /** The mark under the magnifier. */
  readonly active: number;
}

const STEPS = 100;

/** Lives as long as the page: the dialog can be closed and opened again. */
export const useSlabPhotoStore = create<SlabPhotoState>(() => ({
  open: false,
  photo: null,
  work: { marks: startMarks(1500, 1000, null), draft: null, shows: 'marks' },
  past: [],
  future: [],
  merge: null,
  active: 0,
}));

export const setSlabPhoto = useSlabPhotoStore.setState;

/** The slab being looked for, or taken over. */
export const finding = createTask();

/** One step of undo, or part of the one before if that had the same name. */
export function editWork(part: Partial<SlabWork>, merge: string | null = null): void {
  finding.tell({ fault: null });
  setSlabPhoto((state) => ({
    work: { ...state.work, ...part },
    past: merge !== null && merge === state.merge ? state.past : [...state.past.slice(1 - STEPS), state.work],
    future: [],
    merge,
  }));
}

export const editMarks = (part: Partial<SlabMarks>, merge: string | null = null): void =>
  editWork({ marks: { ...useSlabPhotoStore.getState().work.marks, ...part } }, merge);

export function editDraft(part: Partial<Draft>, merge: string | null = null): void {
  const { draft } = useSlabPhotoStore.getState().work;
  if (draft) editWork({ draft: { ...draft, ...part } }, merge);
}

/** Adds what was worked out meanwhile; no step of its own. */
export const amendDraft = (of: Draft['outline'], part: Partial<Draft>): void =>
  setSlabPhoto(({ work }) =>
    work.draft?.outline === of ? { work: { ...work, draft: { ...work.draft, ...part } } } : {},
  );

export function undoWork(): void {
  finding.tell({ fault: null });
  setSlabPhoto(({ work, past, future }) => {
    const before = past.at(-1);
    return before ? { work: before, past: past.slice(0, -1), future: [work, ...future], merge: null } : {};
  });
}

export function redoWork(): void {
  finding.tell({ fault: null });
  setSlabPhoto(({ work, past, future }) => {
    const [next, ...rest] = future;
    return next ? { work: next, past: [...past, work], future: rest, merge: null } : {};
  });
}

/** The slab laid flat, as a picture and where it lies once it is turned. */
export interface Face {
  readonly id: number;
  /** As it was found; drawn with its quarter turns. */
  readonly bitmap: ImageBitmap;
  readonly quarters: Quarters;
  /** Where the origin of the frame it was found in lies in the photo's plane, mm. */
  readonly shift: Point;
  /** What gave that plane its scale. */
  readonly marks: Marks;
  readonly k1: number;
  readonly leftMm: number;
  readonly topMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

/** What the rim tells: the masking line and how far in it lies. Null inset: no rim is to be seen. */
export interface RimReading {
  readonly paintable: Polygon;
  readonly maskedRimMm: number | null;
  readonly notes: readonly string[];
}

/** A slab that has been found or pasted and is being put right; mm in the face's frame. */
export interface Draft {
  readonly outline: Polygon;
  /** Points of it that can be moved; the others follow. */
  readonly handles: readonly number[];
  /** What part of the plane is shown. */
  readonly view: BoundsMm;
  readonly face: Face | null;
  readonly rim: RimReading | null;
  /** The outline that the rim was read for; another one asks for a new reading. */
  readonly rimOf: Polygon;
  readonly tapeRim: boolean;
  readonly defects: readonly { readonly defect: Defect; readonly on: boolean }[];
  readonly notes: readonly string[];
}

type ScaleKind = 'card' | 'rectangle' | 'ruler';

/** What the maker has marked on the photo, in its pixels; each kind keeps its own points. */
interface SlabMarks {
  readonly kind: ScaleKind;
  readonly points: Readonly<Record<ScaleKind, readonly Point[]>>;
  /** True size of the rectangle, and the length between the two points on the ruler. */
  readonly widthMm: number;
  readonly heightMm: number;
  readonly lengthMm: number;
  /** Distortion of the lens, 0 if it is not known. */
  readonly k1: number;
}

const CORNERS = ['top left', 'top right', 'bottom right', 'bottom left'] as const;

export const MARK_NAMES: Readonly<Record<ScaleKind, readonly string[]>> = {
  card: CORNERS.map((corner) => `Card, ${corner}`),
  rectangle: CORNERS.map((corner) => `Rectangle, ${corner}`),
  ruler: ['Ruler, first mark', 'Ruler, second mark'],
};

/** Marks as they lie on a photo that has just been opened, on the card if one was found in it. */
export function startMarks(width: number, height: number, card: readonly Point[] | null): SlabMarks {
  const box = (share: number, ratio: number): Point[] => {
    const x = Math.min(share * width, share * height * ratio) / 2;
    const y = x / ratio;
    const [cx, cy] = [width / 2, height / 2];
    return [
      [cx - x, cy - y],
      [cx + x, cy - y],
      [cx + x, cy + y],
      [cx - x, cy + y],
    ];
  };
  return {
    kind: 'card',
    points: {
      card: card ?? box(0.3, 1.586),
      rectangle: box(0.7, width / height),
      ruler: [
        [0.3 * width, 0.9 * height],
        [0.7 * width, 0.9 * height],
      ],
    },
    widthMm: 300,
    heightMm: 200,
    lengthMm: 100,
    k1: 0,
  };
}

/**
 * The marks as the scale takes them.
 * @throws RangeError with a sentence if a length is not greater than zero.
 */
export function marksForScale({ kind, points, widthMm, heightMm, lengthMm }: SlabMarks): Marks {
  if (kind === 'card') return { kind, corners: points.card };
  if (kind === 'rectangle') {
    if (!(widthMm > 0 && heightMm > 0)) {
      throw new RangeError(
        'The rectangle has a side of 0 mm, which gives no scale. Type in its true width and height.',
      );
    }
    return { kind, corners: points.rectangle, widthMm, heightMm };
  }
  if (!(lengthMm > 0)) {
    throw new RangeError('A length of 0 mm gives no scale. Read off the ruler how far the two marks lie apart.');
  }
  return { kind, ends: points.ruler, lengthMm };
}
