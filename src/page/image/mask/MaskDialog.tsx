import { useState } from 'react';
import { strokesInCut } from '../../../piece/frame.ts';
import { SheetDialog } from '../../fields/SheetDialog.tsx';
import { type OpenPhoto, usePieceStore } from '../../store/piece-store.ts';
import { MaskTable, startDraft, useMaskPhoto } from './MaskTable.tsx';
import './mask.css';

interface MaskDialogProps {
  photo: OpenPhoto;
  onClose: () => void;
}

/** What of the photograph is not burned: painted, or found. Nothing changes until it is taken over; closing before asks. */
export function MaskDialog({ photo, onClose }: MaskDialogProps) {
  const cut = usePieceStore((state) => state.piece.picture.cut);
  const strokes = usePieceStore((state) => state.piece.picture.strokes);
  const matte = usePieceStore((state) => state.piece.picture.matte);
  const decoded = useMaskPhoto(photo, cut);
  const [draft, setDraft] = useState(() =>
    startDraft({ strokes: strokesInCut(strokes, cut), marks: matte?.marks ?? [], matte: matte?.tiles ?? null }),
  );
  const [leaving, setLeaving] = useState(false);
  const leave = () => (draft.past.length === 0 ? onClose() : setLeaving(true));
  return (
    <SheetDialog label="Mask" isOpen onClose={leave}>
      <MaskTable
        photo={photo}
        decoded={decoded}
        draft={draft}
        onDraft={setDraft}
        isLeaving={leaving}
        onLeave={leave}
        onStay={() => setLeaving(false)}
        onClose={onClose}
      />
    </SheetDialog>
  );
}
