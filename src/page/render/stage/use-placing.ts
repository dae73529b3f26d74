import { useEffect, useMemo, useRef, useState } from 'react';
import { radToDeg } from '../../../base/units.ts';
import { flawEdges } from '../../../physics/bed/bed.ts';
import { defectsUnder, type PlacedBox, roomAroundMm } from '../../../physics/bed/placed-box.ts';
import { uprightHeightMm } from '../../../piece/frame.ts';
import type { Cut, Piece } from '../../../piece/schema.ts';
import type { StandIn } from '../../../render/slab/SlabScene.tsx';
import type { Placing } from '../../../render/slab/sight-bus.ts';
import { type ProofRecord, surfaceOf } from '../../burn/proof-store.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { useLengthText } from '../../fields/ValueControl.tsx';
import { cutBitmap } from '../../files/cut-bitmap.ts';
import {
  beginStep,
  endStep,
  type FacesSaid,
  type OpenPhoto,
  setSession,
  usePieceStore,
  useSessionStore,
} from '../../store/piece-store.ts';

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
export function usePlacing(record: ProofRecord | null): {
  placing: Placing | null;
  isGhost: boolean;
  standIn: StandIn | null;
} {
  const on = useSessionStore(({ placing, openStep }) => placing && openStep === 'picture');
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const faces = useSessionStore((state) => state.faces);
  const { slab, picture } = piece;
  const length = useLengthText();
  const grabbed = useRef(false);
  const [held, setHeld] = useState(false);
  // Before anything is computed of it the photograph lies on the slab by itself.
  const bare = photo !== null && (record === null || surfaceOf(record) === null);
  const ghost = useGhost(on || bare ? photo : null, picture.cut);
  const stale = on && (held || record?.coarse?.id !== record?.id);
  const lingers = useLingering(stale);
  const flaws = useMemo(() => flawEdges(slab).map(({ edge }) => edge), [slab]);
  if (!photo) return { placing: null, isGhost: false, standIn: null };
  const box = {
    centreXMm: picture.offsetXMm,
    centreYMm: picture.offsetYMm,
    widthMm: picture.widthMm,
    heightMm: uprightHeightMm(picture, photo),
    turnRad: picture.rotationRad,
  };
  const crop: Placing['crop'] = picture.crop === 'oval' ? 'oval' : 'rectangle';
  if (!on) {
    const standIn = bare && ghost ? { image: ghost, box, crop } : null;
    return { placing: null, isGhost: false, standIn };
  }
  const placing: Placing = {
    box,
    crop,
    flaws,
    ghost: lingers ? ghost : null,
    words: [`${placeWords(piece, photo, length)}.`, flawWords(piece, photo, faces)].filter(Boolean).join(' '),
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
  return { placing, isGhost: stale && ghost !== null, standIn: null };
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

const LONGEST_PX = 900;

/** What is used of the photograph at screen size, decoded off the page's thread; null until it is there, or if none is wanted. */
function useGhost(photo: OpenPhoto | null, cut: Cut | null): ImageBitmap | null {
  const [ghost, setGhost] = useState<{ of: unknown; bitmap: ImageBitmap } | null>(null);
  const of = useMemo(() => ({ photo, cut }), [photo, cut]);
  useEffect(() => {
    if (!of.photo) return;
    let gone = false;
    let decoded: ImageBitmap | null = null;
    inBackground(
      cutBitmap(of.photo, of.cut, LONGEST_PX).then((bitmap) => {
        if (gone) bitmap?.close();
        else if (bitmap) {
          decoded = bitmap;
          setGhost({ of, bitmap });
        }
      }),
    );
    return () => {
      gone = true;
      setGhost(null);
      decoded?.close();
    };
  }, [of]);
  return ghost?.of === of ? ghost.bitmap : null;
}

type Placed = Pick<Piece, 'slab' | 'picture'>;

type Size = { readonly width: number; readonly height: number };

/** "300 mm × 225 mm, 12 mm right, turned 4° clockwise": from the middle of the slab. */
export function placeWords({ picture }: Pick<Piece, 'picture'>, photo: Size, length: (mm: number) => string): string {
  const { widthMm, offsetXMm, offsetYMm, rotationRad } = picture;
  const off = [
    offsetXMm !== 0 && `${length(Math.abs(offsetXMm))} ${offsetXMm > 0 ? 'right' : 'left'}`,
    offsetYMm !== 0 && `${length(Math.abs(offsetYMm))} ${offsetYMm > 0 ? 'down' : 'up'}`,
  ].filter(Boolean);
  const degrees = Math.round(10 * radToDeg(rotationRad)) / 10;
  return [
    `${length(widthMm)} × ${length(uprightHeightMm(picture, photo))}`,
    off.length === 0 ? 'in the middle' : off.join(', '),
    degrees !== 0 && `turned ${Math.abs(degrees)}° ${degrees > 0 ? 'counter-clockwise' : 'clockwise'}`,
  ]
    .filter(Boolean)
    .join(', ');
}

/** Whether there are faces in a photograph, as the maker said; null while nobody has asked. */
export const facesIn = (photo: OpenPhoto, faces: FacesSaid): boolean | null =>
  faces?.photoKey === photo.key ? faces.any : null;

/** What the picture lies over; null if nothing that matters. Of faces it speaks where there are some. */
export function flawWords({ slab, picture }: Placed, photo: OpenPhoto, faces: FacesSaid): string | null {
  const any = facesIn(photo, faces);
  if (any === false) return null;
  const { knots, checks } = defectsUnder(slab, picture, photo);
  const words = [
    knots > 0 && (knots === 1 ? 'a knot' : `${knots} knots`),
    checks > 0 && (checks === 1 ? 'an open check' : `${checks} open checks`),
  ].filter(Boolean);
  return words.length > 0 ? `Over ${words.join(' and ')}${any ? ': keep faces off' : ''}.` : null;
}

/** How far the picture reaches where nothing is painted; null if it does not. */
export function beyondWords({ slab, picture }: Placed, photo: Size, length: (mm: number) => string): string | null {
  const room = roomAroundMm(slab, picture, photo);
  return room < 0 ? `Reaches ${length(-room)} beyond what is painted.` : null;
}
