import { SheetDialog } from '../sheet/SheetDialog.tsx';
import type { OpenPhoto } from '../stores/piece-store.ts';
import { MaskTable } from './MaskTable.tsx';
import { useMaskPhoto } from './use-mask-photo.ts';
import './mask.css';

interface MaskDialogProps {
  photo: OpenPhoto;
  onClose: () => void;
}

/** What of the photograph is not burned: painted, or found. Nothing changes until it is taken over. */
export function MaskDialog({ photo, onClose }: MaskDialogProps) {
  const decoded = useMaskPhoto(photo);
  return (
    <SheetDialog label="Mask" isOpen onClose={onClose}>
      <MaskTable photo={photo} decoded={decoded} onClose={onClose} />
    </SheetDialog>
  );
}
