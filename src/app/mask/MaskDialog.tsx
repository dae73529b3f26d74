import { Dialog, Modal, ModalOverlay } from 'react-aria-components';
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
  const decoded = useMaskPhoto(photo.key);
  return (
    <ModalOverlay className="mask-veil" isOpen onOpenChange={(open) => !open && onClose()} isDismissable={false}>
      <Modal className="mask-modal">
        <Dialog className="mask-dialog" aria-label="Mask">
          <MaskTable photo={photo} decoded={decoded} onClose={onClose} />
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}
