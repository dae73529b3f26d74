import { Button } from 'react-aria-components';
import { useShallow } from 'zustand/react/shallow';
import { OpenButton } from '../fields/OpenButton.tsx';
import { Fault } from '../fields/TaskProgress.tsx';
import { NameControl } from '../fields/ValueControl.tsx';
import { useTask } from '../remote/task.ts';
import { PHOTO_TYPES } from '../store/files.ts';
import { makerOf, openMark, setMaker, useMakerStore } from '../store/maker.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** Name and mark of the workshop. */
export function MakerControls() {
  const piece = usePieceStore((state) => state.piece);
  const change = usePieceStore((state) => state.change);
  const { name, mark } = useMakerStore(useShallow((kept) => makerOf(piece, kept)));
  const task = useTask();
  const fault = task.use((state) => state.fault);
  const rename = (workshop: string) => {
    setMaker({ name: workshop });
    change((now) => ({ ...now, quote: { ...now.quote, workshop } }));
  };
  return (
    <>
      <NameControl label="Your workshop" value={name} onChange={rename} />
      {mark && <img className="maker-mark" src={mark} alt="Your mark as papers show it" />}
      <div className="button-pair">
        <OpenButton types={PHOTO_TYPES} onFile={(file) => task.run('Opening the picture', () => openMark(file))}>
          {mark ? 'Another mark…' : 'Open your mark…'}
        </OpenButton>
        {mark && (
          <Button className="quiet" onPress={() => setMaker({ mark: null })}>
            Take it away
          </Button>
        )}
      </div>
      <p className="hint">
        A small picture, best a PNG with nothing behind it. It stands with your name on the bench sheet, the quote and
        the client’s page, and is kept on this computer.
      </p>
      <Fault words={fault} />
    </>
  );
}
