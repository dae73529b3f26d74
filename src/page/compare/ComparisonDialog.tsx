import { useMemo, useState } from 'react';
import { Button, Heading } from 'react-aria-components';
import { ask } from '../burn/proof-remote.ts';
import { NOW, useProofStore } from '../burn/proof-store.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { SheetDialog } from '../fields/SheetDialog.tsx';
import { saveFile } from '../files/save-file.ts';
import { useTask } from '../remote/task.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { ComparisonTable } from './ComparisonTable.tsx';
import { type ComparedProof, comparisonCsv, pictureSheet } from './columns.ts';
import { repeatPin, thumbnailOf } from './pins.ts';
import '../fields/sheet-head.css';
import './comparison.css';

/** The current proof and the pinned ones, setting by setting and number by number. */
export function ComparisonDialog({ onClose }: { onClose: () => void }) {
  const current = useProofStore((state) => state.current);
  const pins = useProofStore((state) => state.pins);
  const piece = usePieceStore((state) => state.piece);
  const [reference, setReference] = useState<string>(NOW);
  const drawing = useTask();
  const isDrawing = drawing.use((state) => state.busy !== null);
  const fault = drawing.use((state) => state.fault);
  const thumbnail = useMemo(() => (current ? thumbnailOf({ coarse: current.coarse }) : ''), [current]);
  const now: ComparedProof[] = current ? [{ id: NOW, name: 'Now', record: current, thumbnail }] : [];
  const proofs: ComparedProof[] = [...now, ...pins];
  const waiting = pins.filter(({ record }) => record.status === 'waiting');
  // What is pinned already needs no second picture.
  const drawn = proofs.filter(
    ({ id, record }) => record.status === 'done' && (id !== NOW || pins.every((pin) => pin.record.id !== record.id)),
  );

  const savePicture = async () => {
    const png = await drawing.run('Drawing', ({ signal }) =>
      ask('picture-sheet', pictureSheet(piece.name, drawn), { signal }),
    );
    if (png) saveFile('comparison.png', png, 'image/png');
  };
  const computeWaiting = () => {
    for (const { id } of waiting) inBackground(repeatPin(id));
  };
  const close = () => {
    drawing.stop();
    onClose();
  };
  return (
    <SheetDialog label="Proofs side by side" isOpen onClose={close}>
      <div className="sheet-table comparison">
        <header className="sheet-head sheet-head-line">
          <Heading slot="title">Proofs</Heading>
          <p className="plain">
            Press a row to measure the others against it; press a heading to sort by it. What differs is marked ≠ or
            with by how much.
          </p>
          <span className="spacer" />
          {waiting.length > 0 && (
            <Button className="quiet" onPress={computeWaiting}>
              Compute {waiting.length === 1 ? 'the one that waits' : `the ${waiting.length} that wait`}
            </Button>
          )}
          <Button
            className="quiet"
            onPress={() => saveFile('comparison.csv', csvBytes(proofs), 'text/csv;charset=utf-8')}
          >
            Save table
          </Button>
          {isDrawing ? (
            <Button className="quiet" onPress={drawing.stop}>
              Stop drawing
            </Button>
          ) : (
            <Button className="quiet" isDisabled={drawn.length === 0} onPress={() => inBackground(savePicture())}>
              Save as one picture
            </Button>
          )}
          <Button className="wide sheet-close" onPress={close}>
            Done
          </Button>
        </header>
        <div className="comparison-place">
          {fault && (
            <p className="warning" role="alert">
              The picture could not be made. {fault}
            </p>
          )}
          <ComparisonTable proofs={proofs} reference={reference} onReference={setReference} />
        </div>
      </div>
    </SheetDialog>
  );
}

/** With the mark by which table programs know UTF-8. */
const csvBytes = (proofs: readonly ComparedProof[]): Uint8Array =>
  new TextEncoder().encode(`\uFEFF${comparisonCsv(proofs)}`);
