import type { BrushStroke } from '../../../piece/schema.ts';

type Strokes = readonly BrushStroke[];
/** What led to a state: taking the background away anew replaces the last time it was. */
export type Step = 'brush' | 'background' | 'clear';

/** The mask while it is worked on, with what undo and redo go back and forth to. */
export interface MaskDraft {
  readonly strokes: Strokes;
  readonly step: Step | null;
  readonly past: readonly Pick<MaskDraft, 'strokes' | 'step'>[];
  readonly future: readonly Pick<MaskDraft, 'strokes' | 'step'>[];
}

export const startDraft = (strokes: Strokes): MaskDraft => ({ strokes, step: null, past: [], future: [] });

/** One more step. */
export const draw = ({ strokes, step, past }: MaskDraft, next: Strokes, by: Step): MaskDraft => ({
  strokes: next,
  step: by,
  past: [...past, { strokes, step }],
  future: [],
});

export function undoDraft({ strokes, step, past, future }: MaskDraft): MaskDraft | null {
  const before = past.at(-1);
  return before ? { ...before, past: past.slice(0, -1), future: [...future, { strokes, step }] } : null;
}

export function redoDraft({ strokes, step, past, future }: MaskDraft): MaskDraft | null {
  const after = future.at(-1);
  return after ? { ...after, past: [...past, { strokes, step }], future: future.slice(0, -1) } : null;
}

/** The draft that taking the background away begins from: before the last time, if nothing was done since. */
export const beforeBackground = (draft: MaskDraft): MaskDraft =>
  draft.step === 'background' ? (undoDraft(draft) ?? draft) : draft;
