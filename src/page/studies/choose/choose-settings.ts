import { Cancelled } from '../../../base/cancelled.ts';
import type { Piece } from '../../../piece/schema.ts';
import { minutesOf, type Suggestion, withSettings } from '../../../studies/choose/suggestion.ts';
import { ask } from '../../burn/proof-client.ts';
import { duration } from '../../burn/words.ts';
import { pinPiece } from '../../compare/pins.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import { setChoose, useChooseStore } from './choose-store.ts';

let under: AbortController | null = null;

/** Looks for settings for the piece as it is; what was under way is given up. */
export async function findSettings(): Promise<void> {
  under?.abort();
  const own = new AbortController();
  under = own;
  const { piece, photo } = usePieceStore.getState();
  const { wishes } = useChooseStore.getState();
  setChoose({ busy: true, share: 0, stage: '', result: null, askedFor: piece, fault: null });
  const start = performance.now();
  let first = true;
  try {
    const result = await ask(
      'choose',
      { piece, photoKey: photo?.key ?? '', wishes },
      {
        signal: own.signal,
        onProgress: (share, stage) => setChoose({ share, stage }),
        onPart: (part) => {
          if (first && part.suggestions.length > 0) {
            performance.measure('foreburn-choose-first', { start });
            first = false;
          }
          setChoose({ result: part });
        },
      },
    );
    performance.measure('foreburn-choose', { start });
    setChoose({ result, busy: false });
  } catch (error) {
    if (under !== own) return;
    const fault = error instanceof Cancelled ? null : error instanceof Error ? error.message : String(error);
    setChoose({ busy: false, fault });
  }
}

export const stopFinding = (): void => under?.abort();

/** Sets a suggestion's settings: one step of undo. */
export function trySuggestion({ pass, curve }: Suggestion): void {
  usePieceStore.getState().change((piece) => withSettings(piece, pass, curve));
}

/** Puts a suggestion on the strip beside the others. */
export function pinSuggestion(suggestion: Suggestion): void {
  const { piece, photo } = usePieceStore.getState();
  const name = duration(60 * minutesOf(suggestion));
  pinPiece(withSettings(piece, suggestion.pass, suggestion.curve), photo?.key ?? '', { name });
}

/** Whether anything but what suggestions set has changed since they were looked for. */
export const isStale = (askedFor: Piece | null, piece: Piece): boolean =>
  askedFor !== null &&
  (['slab', 'stack', 'machine', 'heat', 'certainty'] as const).some((part) => askedFor[part] !== piece[part]);
