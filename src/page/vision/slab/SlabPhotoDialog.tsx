import { useEffect } from 'react';
import { Button, DropZone, FileTrigger, Heading } from 'react-aria-components';
import { SheetDialog } from '../../fields/SheetDialog.tsx';
import { SheetTable } from '../../fields/SheetTable.tsx';
import { droppedFiles } from '../../files/dropped-files.ts';
import { PHOTO_TYPES } from '../../store/files.ts';
import { keepSlabPhoto } from './keep-slab-photo.ts';
import { MarkPanel } from './MarkPanel.tsx';
import { MarkSheet } from './MarkSheet.tsx';
import { OutlinePanel } from './OutlinePanel.tsx';
import { OutlineSheet } from './OutlineSheet.tsx';
import { PasteOutline } from './PasteOutline.tsx';
import { openSlabPhoto } from './slab-photo-actions.ts';
import { redoWork, setSlabPhoto, undoWork, useSlabPhoto } from './slab-photo-store.ts';
import './slab-photo.css';
import { inBackground } from '../../faults/tell-fault.ts';

/** From a photograph of the slab to its outline at true size. Closing keeps everything as it is. */
export function SlabPhotoDialog() {
  const open = useSlabPhoto((state) => state.open);
  useEffect(() => inBackground(keepSlabPhoto()), []);
  return (
    <SheetDialog label="The slab from a photograph" isOpen={open} onClose={() => setSlabPhoto({ open: false })}>
      <Body />
    </SheetDialog>
  );
}

function Body() {
  const { photo, work, past, future, busy, fault } = useSlabPhoto();
  const draft = work.shows === 'outline' ? work.draft : null;
  return (
    <SheetTable onUndo={unlessBusy(undoWork)} onRedo={unlessBusy(redoWork)}>
      <header className="sheet-head">
        <Heading slot="title">The slab from a photograph</Heading>
        <span className="spacer" />
        <Button className="quiet" isDisabled={past.length === 0 || busy !== null} onPress={undoWork}>
          Undo
        </Button>
        <Button className="quiet" isDisabled={future.length === 0 || busy !== null} onPress={redoWork}>
          Redo
        </Button>
        <Button className="quiet" onPress={() => setSlabPhoto({ open: false })}>
          Close
        </Button>
      </header>
      <DropZone
        className="sheet-place"
        getDropOperation={() => 'copy'}
        onDrop={(event) => {
          droppedFiles(event.items).then(
            ([file]) => openSlabPhoto(file),
            (error: Error) => setSlabPhoto({ fault: error.message }),
          );
        }}
      >
        {draft ? <OutlineSheet draft={draft} /> : photo ? <MarkSheet photo={photo} /> : <Empty />}
      </DropZone>
      <aside className="sheet-panel sp-panel" aria-label="From photograph to outline">
        <div role="status">{busy && <p className="sp-busy">{busy}…</p>}</div>
        {fault && (
          <p className="warning" role="alert">
            {fault}
          </p>
        )}
        {draft ? (
          <OutlinePanel draft={draft} />
        ) : (
          <>
            <OpenPhoto label={photo ? 'Another photograph…' : 'Open a photograph…'} />
            {photo && <MarkPanel photo={photo} />}
            <PasteOutline isDisabled={busy !== null} />
          </>
        )}
      </aside>
    </SheetTable>
  );
}

function OpenPhoto({ label }: { label: string }) {
  const busy = useSlabPhoto((state) => state.busy !== null);
  return (
    <FileTrigger
      acceptedFileTypes={PHOTO_TYPES}
      onSelect={(files) => {
        if (files?.[0]) inBackground(openSlabPhoto(files[0]));
      }}
    >
      <Button className="wide" isDisabled={busy}>
        {label}
      </Button>
    </FileTrigger>
  );
}

const Empty = () => (
  <div className="sp-empty">
    <h3>Lay the slab on a plain table and photograph it from above</h3>
    <p>
      A table of another colour than the bark, seen all round the slab. Light from all sides, no hard shadow. Beside the
      slab, level with its face, something of known size: a bank card, a rectangle, a ruler.
    </p>
    <p>Open the photograph, or drop it here. It stays on this computer.</p>
  </div>
);

const unlessBusy = (act: () => void) => () => {
  if (useSlabPhoto.getState().busy === null) act();
};
