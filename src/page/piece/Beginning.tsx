import { type ReactNode, useEffect, useState } from 'react';
import { Button, FileTrigger } from 'react-aria-components';
import { fitPicture } from '../../physics/bed/placed-box.ts';
import { FIRST_PAINT, paintJobOf } from '../../physics/material/paints.ts';
import type { Slab } from '../../piece/schema.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { Field } from '../fields/Field.tsx';
import { PairSwitch } from '../fields/ValueControl.tsx';
import { fitTonesAnew } from '../image/fit-tones.ts';
import { PaintChoice } from '../physics/PaintChoice.tsx';
import { SlabPhotoButton, SpeciesChoice } from '../physics/SlabStep.tsx';
import { PiecesButton } from '../shop/PiecesButton.tsx';
import { type Listed, listPieces } from '../store/board-rows.ts';
import { openDatabase } from '../store/database.ts';
import { cropFor, lookAtDemo, PHOTO_TYPES, takeFiles } from '../store/files.ts';
import { useKeepingStore } from '../store/keeping.ts';
import { readKeptPiece } from '../store/library.ts';
import { type OpenPhoto, setSession, usePieceStore } from '../store/piece-store.ts';
import { likeBefore } from './like-before.ts';
import { OpenPiece } from './OpenPiece.tsx';
import './beginning.css';

/** The first page of a piece: photograph, slab and paint, with the photograph on the slab as soon as it is there. */
export function Beginning() {
  const photo = usePieceStore((state) => state.photo);
  const before = usePieceBefore();
  return (
    <aside className="column beginning" aria-label="A new piece">
      <div className="beginning-body">
        <header>
          <h1>Foreburn</h1>
          <p className="beginning-said">See what your laser will make of a photograph before it touches the slab.</p>
        </header>
        <Thing number={1} title="Your photograph">
          <Photograph photo={photo} />
        </Thing>
        <Thing number={2} title="Your slab">
          <SlabInBrief />
        </Thing>
        <Thing number={3} title="Your paint">
          {before && (
            <Button className="wide" onPress={() => inBackground(takeFrom(before.id))}>
              Paint and machine of “{before.title}”
            </Button>
          )}
          <PaintChoice />
        </Thing>
      </div>
      <footer className="beginning-foot">
        <Button className="wide sheet-main" isDisabled={!photo} onPress={seeProof}>
          See the proof
        </Button>
        <div className="beginning-ways">
          <PiecesButton />
          <OpenPiece />
          <Button className="quiet" onPress={() => setSession({ beginning: false, openStep: 'picture' })}>
            All settings
          </Button>
        </div>
      </footer>
    </aside>
  );
}

function Thing({ number, title, children }: { number: number; title: string; children: ReactNode }) {
  return (
    <section className="thing" aria-label={title}>
      <h2>
        <span aria-hidden="true">{number}</span>
        {title}
      </h2>
      {children}
    </section>
  );
}

function Photograph({ photo }: { photo: OpenPhoto | null }) {
  return (
    <>
      {photo && (
        <p className="plain">
          {photo.name}, {photo.width} × {photo.height} pixels
        </p>
      )}
      <div className="button-row">
        <FileTrigger
          acceptedFileTypes={PHOTO_TYPES}
          onSelect={(files) => inBackground(takeFiles(files ? [...files] : []))}
        >
          <Button className={photo ? 'wide' : 'wide sheet-main'}>Open a photograph…</Button>
        </FileTrigger>
        {!photo && (
          <Button className="wide" onPress={() => inBackground(lookAtDemo())}>
            Look at the demo
          </Button>
        )}
      </div>
      {!photo && <p className="plain">Or drop one on the slab. Nothing leaves your computer.</p>}
    </>
  );
}

/** Outline, size and wood: all that the first proof needs of a slab. The picture fills whatever it is. */
function SlabInBrief() {
  const shape = usePieceStore((state) => state.piece.slab.shape);
  return (
    <>
      <PairSwitch
        label="Outline"
        value={shape}
        options={[
          { id: 'oval', label: 'Oval' },
          { id: 'rectangle', label: 'Rectangle' },
          ...(shape === 'outline' ? [{ id: 'outline' as const, label: 'Drawn' }] : []),
        ]}
        onChange={(next) => changeFilled({ shape: next })}
      />
      <div className="thing-pair">
        <Field of="slab.widthMm" hint="" onChange={(widthMm) => changeFilled({ widthMm })} />
        <Field of="slab.heightMm" hint="" onChange={(heightMm) => changeFilled({ heightMm })} />
      </div>
      <SpeciesChoice />
      <SlabPhotoButton />
    </>
  );
}

/** Changes the slab and has the picture fill it. */
function changeFilled(part: Partial<Slab>): void {
  const { photo, change } = usePieceStore.getState();
  change((piece) => {
    const slab = { ...piece.slab, ...part };
    const picture = { ...piece.picture, crop: cropFor(slab) };
    const fitted = photo && fitPicture(slab, picture, photo);
    return { ...piece, slab, picture: fitted ?? picture };
  });
}

/** Goes on to the proof, with tones for the paint; the first paint has them. */
function seeProof(): void {
  setSession({ beginning: false, openStep: 'proof' });
  const { piece } = usePieceStore.getState();
  const job = paintJobOf(piece.stack.coats, piece.machine.source.wavelengthNm);
  const isFirst = job?.paint === FIRST_PAINT.paint && job.times === FIRST_PAINT.times;
  if (!isFirst) inBackground(fitTonesAnew());
}

/** The piece that was worked on before this one; null until it is known, or where there is none. */
function usePieceBefore(): Listed | null {
  const id = useKeepingStore((state) => state.id);
  const [before, setBefore] = useState<Listed | null>(null);
  useEffect(() => {
    let gone = false;
    const look = async () => {
      const pieces = await listPieces(await openDatabase());
      if (!gone) setBefore(pieces.find((piece) => piece.id !== id && piece.fault === null) ?? null);
    };
    // Storage that fails has been told of.
    look().catch(() => {});
    return () => {
      gone = true;
    };
  }, [id]);
  return before;
}

/** Takes from a kept piece what a maker has for longer than one slab: paint, machine and its settings. */
async function takeFrom(id: string): Promise<void> {
  const kept = await readKeptPiece(await openDatabase(), id);
  if (kept) usePieceStore.getState().change((piece) => likeBefore(piece, kept.piece));
}
