import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';

interface LeaveMaskProps {
  /** Why the strokes cannot be kept, if they cannot. */
  fault: string | null;
  isBusy: boolean;
  onKeep: () => void;
  onThrowAway: () => void;
  onStay: () => void;
}

/** Asked when the dialog is closed with strokes that the piece does not have yet. */
export function LeaveMask({ fault, isBusy, onKeep, onThrowAway, onStay }: LeaveMaskProps) {
  return (
    <ModalOverlay className="mask-leave-veil" isOpen onOpenChange={(open) => !open && onStay()}>
      <Modal className="mask-leave">
        <Dialog role="alertdialog" className="mask-leave-dialog">
          <Heading slot="title">Keep the new strokes?</Heading>
          <p>{fault ?? 'The mask was changed and not taken over yet.'}</p>
          <Button className="wide sheet-main" isDisabled={isBusy || fault !== null} onPress={onKeep} autoFocus>
            Keep
          </Button>
          <Button className="wide" onPress={onThrowAway}>
            Throw away
          </Button>
          <Button className="wide" onPress={onStay}>
            Go on painting
          </Button>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}
