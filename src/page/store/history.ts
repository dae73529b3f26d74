/** Characters of JSON that the steps of one piece may take together. */
export const MOST_HISTORY_CHARACTERS = 8e6;

interface History<Step> {
  /** The oldest first. */
  readonly past: readonly Step[];
  /** The next one to redo last. */
  readonly future: readonly Step[];
}

/** The steps nearest to now, both ways, as far as there is room for them. */
export function nearestSteps<Step>(
  { past, future }: History<Step>,
  sizeOf: (step: Step) => number,
  room = MOST_HISTORY_CHARACTERS,
): History<Step> {
  let left = room;
  let [undos, redos] = [0, 0];
  for (let i = 1; i <= Math.max(past.length, future.length); i++) {
    if (i <= past.length) {
      left -= sizeOf(past[past.length - i]);
      if (left < 0) break;
      undos = i;
    }
    if (i <= future.length) {
      left -= sizeOf(future[future.length - i]);
      if (left < 0) break;
      redos = i;
    }
  }
  return { past: past.slice(past.length - undos), future: future.slice(future.length - redos) };
}
