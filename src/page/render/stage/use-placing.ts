import { useEffect, useMemo, useRef, useState } from 'react';
import { flawEdges } from '../../../physics/bed/flaw-edges.ts';
import type { PlacedBox } from '../../../physics/bed/placed-box.ts';
import type { Placing } from '../../../render/slab/SlabView.tsx';
import type { ProofRecord } from '../../burn/proof-store.ts';
import { useLengthText } from '../../fields/use-length-text.ts';
import { beginStep, endStep, usePieceStore } from '../../store/piece-store.ts';
import { setSession, useSessionStore } from '../../store/session-store.ts';
import { flawWords, placeWords } from './place-words.ts';
import { useGhost } from './use-ghost.ts';

/** The button that placing begins with; the keyboard goes back there. */
export const PLACE_BUTTON_ID = 'place-by-hand';

export function endPlacing(): void {
  setSession({ placing: false });
  document.getElementById(PLACE_BUTTON_ID)?.focus();
}

/**
 * Placing the picture by hand, for the view; null while it is not done. Until the quick look of the proof that is shown is there, and
 * while a hand holds the picture, the photograph itself stands in for it (`isGhost`).
 */
export function usePlacing(record: ProofRecord | null): { placing: Placing | null; isGhost: boolean } {
  const on = useSessionStore(({ placing, openStep }) => placing && openStep === 'picture');
  const { piece, photo } = usePieceStore();
  const { slab, picture } = piece;
  const length = useLengthText();
  const grabbed = useRef(false);
  const [held, setHeld] = useState(false);
  const ghost = useGhost(on ? photo : null);
  const stale = on && (held || record?.coarse?.id !== record?.id);
  const lingers = useLingering(stale);
  const flaws = useMemo(() => flawEdges(slab).map(({ edge }) => edge), [slab]);
  if (!on || !photo) return { placing: null, isGhost: false };
  const placing: Placing = {
    box: {
      centreXMm: picture.offsetXMm,
      centreYMm: picture.offsetYMm,
      widthMm: picture.widthMm,
      heightMm: (picture.widthMm * photo.height) / photo.width,
      turnRad: picture.rotationRad,
    },
    crop: picture.crop,
    flaws,
    ghost: lingers ? ghost : null,
    words: [`${placeWords(piece, photo, length)}.`, flawWords(piece, photo)].filter(Boolean).join(' '),
    onGrab() {
      grabbed.current = true;
      beginStep();
    },
    onChange(box) {
      // Not before it moves: a press alone leaves the proof as it is.
      if (grabbed.current) setHeld(true);
      place(box);
    },
    onRelease() {
      grabbed.current = false;
      setHeld(false);
      endStep();
    },
    onDone: endPlacing,
  };
  return { placing, isGhost: stale && ghost !== null };
}

/** The graphics card takes the quick look a few frames after the page. */
const LINGER_MS = 160;

/** True as long as something is so, and a moment longer. */
function useLingering(is: boolean): boolean {
  const [lingers, setLingers] = useState(is);
  useEffect(() => {
    if (is) setLingers(true);
    else {
      const timer = setTimeout(() => setLingers(false), LINGER_MS);
      return () => clearTimeout(timer);
    }
  }, [is]);
  return is || lingers;
}

const tenth = (mm: number): number => Math.round(10 * mm) / 10;
/** A thousandth of a degree is finer than any hand; straight stays straight. */
const FINEST_RAD = Math.PI / 180 / 1000;

function place({ centreXMm, centreYMm, widthMm, turnRad }: PlacedBox): void {
  const rotationRad =
    Math.abs(turnRad % (Math.PI / 2)) < 1e-9 ? turnRad : Math.round(turnRad / FINEST_RAD) * FINEST_RAD;
  usePieceStore.getState().change((piece) => ({
    ...piece,
    picture: {
      ...piece.picture,
      offsetXMm: tenth(centreXMm),
      offsetYMm: tenth(centreYMm),
      widthMm: tenth(widthMm),
      rotationRad,
    },
  }));
}
