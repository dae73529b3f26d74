import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';
import { inBackground } from '../faults/lazy-part.tsx';
import { Section } from '../fields/SheetDialog.tsx';
import { freshTones } from '../image/fit-tones.ts';
import { useTask } from '../remote/task.ts';
import { beginWith, layPhoto } from '../store/files.ts';
import { discard } from '../store/keeping.ts';
import { type OpenPhoto, setSession, usePieceStore, useSessionStore } from '../store/piece-store.ts';
import './pieces.css';

/** Asked when a photograph is opened while another one lies on the piece. */
export function OtherPhotograph() {
  const photo = useSessionStore((state) => state.otherPhoto);
  return photo && <Question photo={photo} />;
}

function Question({ photo }: { photo: OpenPhoto }) {
  const name = usePieceStore((state) => state.piece.name);
  const task = useTask();
  const busy = task.use((state) => state.busy);
  const fault = task.use((state) => state.fault);
  const close = () => setSession({ otherPhoto: null });
  const leave = () => {
    task.stop();
    close();
    discard({ piece: usePieceStore.getState().piece, photo });
  };
  const refit = async () => {
    const { piece } = usePieceStore.getState();
    const tone = await task.run('Fitting the tones', () => freshTones(piece, photo.key));
    if (!tone) return;
    close();
    layPhoto(photo, tone);
  };
  const keep = () => {
    close();
    layPhoto(photo);
  };
  const begin = () => {
    close();
    inBackground(beginWith(photo));
  };
  return (
    <ModalOverlay
      className="pieces-veil"
      isOpen
      onOpenChange={(open) => !open && leave()}
      isDismissable={busy === null}
    >
      <Modal className="question-modal">
        <Dialog className="pieces-dialog" aria-label="Another photograph" role="alertdialog">
          <Section name="The question about the photograph">
            <Heading slot="title">“{photo.name}” in place of the one on the slab?</Heading>
            <p className="plain">
              The tones of “{name || 'this piece'}” were set for the photograph before. Undo brings that one back.
            </p>
            {fault && <p className="warning">The tones could not be fitted. {fault}</p>}
            <div className="question-ways">
              <Button className="wide sheet-main" isDisabled={busy !== null} onPress={() => inBackground(refit())}>
                {busy ? `${busy}…` : 'Fit the tones to it'}
              </Button>
              <Button className="wide" isDisabled={busy !== null} onPress={keep}>
                Keep the tones
              </Button>
              <Button className="wide" isDisabled={busy !== null} onPress={begin}>
                Begin a new piece with it
              </Button>
              <Button className="quiet" onPress={leave}>
                Cancel
              </Button>
            </div>
          </Section>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}
