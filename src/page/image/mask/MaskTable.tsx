import { type Dispatch, type SetStateAction, useMemo, useState } from 'react';
import { Button, Heading } from 'react-aria-components';
import type { BrushStroke } from '../../../piece/schema.ts';
import { SheetTable } from '../../fields/SheetTable.tsx';
import { type OpenPhoto, usePieceStore } from '../../store/piece-store.ts';
import { BackgroundControls } from './BackgroundControls.tsx';
import { BrushControls } from './BrushControls.tsx';
import { type Brush, brushOf, firstBrush } from './brush-settings.ts';
import { LeaveMask } from './LeaveMask.tsx';
import { MOST_STROKES } from './limits.ts';
import { MaskSheet } from './MaskSheet.tsx';
import { draw, type MaskDraft, redoDraft, undoDraft } from './mask-draft.ts';
import { savingWords } from './saving-words.ts';
import { useMaskClient } from './use-mask-client.ts';
import type { MaskPhoto } from './use-mask-photo.ts';
import { useMaskSaving } from './use-mask-saving.ts';

interface MaskTableProps {
  photo: OpenPhoto;
  decoded: MaskPhoto | string | null;
  draft: MaskDraft;
  onDraft: Dispatch<SetStateAction<MaskDraft>>;
  /** Closing was asked for while there are strokes that the piece does not have. */
  isLeaving: boolean;
  onLeave: () => void;
  onStay: () => void;
  onClose: () => void;
}

/** The photograph with its veil, and beside it what works on the mask. */
export function MaskTable({ photo, decoded, draft, onDraft, isLeaving, onLeave, onStay, onClose }: MaskTableProps) {
  const piece = usePieceStore((state) => state.piece);
  const [brush, setBrush] = useState<Brush>(() => firstBrush(piece.picture.widthMm));
  const client = useMaskClient();
  const saving = useMaskSaving(client, piece, photo, draft.strokes);
  const full = draft.strokes.length >= MOST_STROKES;
  const shape = useMemo(() => brushOf(brush, piece.picture.widthMm), [brush, piece.picture.widthMm]);

  const back = () => onDraft((now) => undoDraft(now) ?? now);
  const forth = () => onDraft((now) => redoDraft(now) ?? now);
  const add = (more: readonly BrushStroke[]) =>
    onDraft((now) =>
      now.strokes.length + more.length <= MOST_STROKES ? draw(now, [...now.strokes, ...more], 'brush') : now,
    );
  const takeOver = () => {
    usePieceStore.getState().change((now) => ({ ...now, picture: { ...now.picture, strokes: [...draft.strokes] } }));
    onClose();
  };
  return (
    <SheetTable onUndo={back} onRedo={forth}>
      <header className="sheet-head">
        <Heading slot="title">Mask</Heading>
        <p className="plain">Under the grey veil nothing is burned.</p>
        <span className="spacer" />
        <Button className="quiet" isDisabled={draft.past.length === 0} onPress={back}>
          Undo
        </Button>
        <Button className="quiet" isDisabled={draft.future.length === 0} onPress={forth}>
          Redo
        </Button>
        <Button
          className="quiet"
          isDisabled={draft.strokes.length === 0}
          onPress={() => onDraft((now) => draw(now, [], 'clear'))}
        >
          Clear
        </Button>
      </header>
      <div className="sheet-place">
        {typeof decoded === 'string' && <p className="mask-fault">{decoded}</p>}
        {decoded === null && <p className="mask-fault">Opening the photograph…</p>}
        {decoded && typeof decoded !== 'string' && (
          <MaskSheet
            bitmap={decoded.bitmap}
            picture={piece.picture}
            strokes={draft.strokes}
            brush={shape}
            isFull={full}
            onStrokes={add}
          />
        )}
      </div>
      <aside className="sheet-panel mask-panel" aria-label="Brush and background">
        <div className="mask-controls">
          <BrushControls brush={brush} widthMm={piece.picture.widthMm} onChange={setBrush} />
          <BackgroundControls
            client={client}
            small={decoded && typeof decoded !== 'string' ? decoded.small : null}
            draft={draft}
            softMm={brush.softMm}
            widthMm={piece.picture.widthMm}
            onDraft={onDraft}
          />
        </div>
        <footer className="mask-foot">
          <div role="status">
            {saving && !saving.nothing && <p className="mask-saving">{savingWords(saving.savedS)}</p>}
            <p className="plain">{strokeWords(draft.strokes.length)}</p>
          </div>
          <div role="alert">
            {saving?.nothing && (
              <p className="warning">{NOTHING_LEFT} Undo a step, clear the mask, or give some back.</p>
            )}
            {full && (
              <p className="warning">This mask is full: a piece keeps {MOST_STROKES} strokes. Undo some or clear it.</p>
            )}
          </div>
          <div className="button-row">
            <Button className="wide" onPress={onLeave}>
              Cancel
            </Button>
            <Button
              className="wide sheet-main"
              isDisabled={saving === null || saving.nothing || draft.strokes === piece.picture.strokes}
              onPress={takeOver}
            >
              Take over
            </Button>
          </div>
        </footer>
      </aside>
      {isLeaving && (
        <LeaveMask
          fault={saving?.nothing ? NOTHING_LEFT : null}
          isBusy={saving === null}
          onKeep={takeOver}
          onThrowAway={onClose}
          onStay={onStay}
        />
      )}
    </SheetTable>
  );
}

const NOTHING_LEFT = 'Nothing would be burned: the mask leaves none of the picture that lies on the slab.';

const strokeWords = (count: number): string =>
  count === 0 ? 'No strokes yet.' : count === 1 ? 'One stroke.' : `${count} strokes.`;
