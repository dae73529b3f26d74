import type { ReactNode } from 'react';
import { Dialog, Modal, ModalOverlay } from 'react-aria-components';
import { Section } from './Section.tsx';
import './sheet-dialog.css';

interface SheetDialogProps {
  label: string;
  isOpen: boolean;
  onClose: () => void;
  children: ReactNode;
}

/** A dialog nearly as large as the page, with a picture to work on and a panel beside it; Escape closes it. */
export function SheetDialog({ label, isOpen, onClose, children }: SheetDialogProps) {
  return (
    <ModalOverlay
      className="sheet-veil"
      isOpen={isOpen}
      onOpenChange={(open) => !open && onClose()}
      isDismissable={false}
    >
      <Modal className="sheet-modal">
        <Dialog className="sheet-dialog" aria-label={label}>
          <Section name={label}>{children}</Section>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}
