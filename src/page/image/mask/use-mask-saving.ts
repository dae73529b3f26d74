import { useEffect, useState } from 'react';
import type { BrushStroke, Piece } from '../../../piece/schema.ts';
import type { MaskSaving } from './mask-saving.ts';
import type { MaskClient } from './use-mask-client.ts';

/** A pause in painting after which the time is worked out. */
const PAUSE_MS = 120;

/** What the strokes would save; null until it is known for these very strokes. */
export function useMaskSaving(
  client: MaskClient | null,
  piece: Piece,
  { width, height }: { width: number; height: number },
  strokes: readonly BrushStroke[],
): MaskSaving | null {
  const [known, setKnown] = useState<{ readonly strokes: unknown; readonly saving: MaskSaving } | null>(null);
  useEffect(() => {
    if (!client) return;
    let stale = false;
    const masked = { ...piece, picture: { ...piece.picture, strokes: [...strokes] } };
    const timer = setTimeout(() => {
      client.ask('saving', { piece: masked, photo: { width, height } }).then(
        (saving) => !stale && setKnown({ strokes, saving }),
        () => {},
      );
    }, PAUSE_MS);
    return () => {
      stale = true;
      clearTimeout(timer);
    };
  }, [client, piece, width, height, strokes]);
  return known?.strokes === strokes ? known.saving : null;
}
