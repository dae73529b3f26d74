import { Fragment } from 'react';
import { Button, DropZone, FileTrigger, Heading } from 'react-aria-components';
import type { Point } from '../../../base/geometry/point.ts';
import { SheetDialog } from '../../fields/SheetDialog.tsx';
import { SheetTable } from '../../fields/SheetTable.tsx';
import { droppedFiles } from '../../files/dropped-files.ts';
import { PHOTO_TYPES } from '../../store/files.ts';
import { Handle } from '../slab/Handle.tsx';
import { Sheet } from '../slab/Sheet.tsx';
import '../slab/slab-photo.css';
import { usePieceStore } from '../../store/piece-store.ts';
import { closeBurnedPhoto, findSlab, openBurnedPhoto, readBurnedPhoto, stopReading } from './burned-photo-actions.ts';
import './burned-photo.css';
import { inBackground } from '../../faults/tell-fault.ts';
import { setBurnedPhoto, useBurnedPhoto } from './burned-photo-store.ts';
import { MisfitPictures } from './MisfitPictures.tsx';
import { slabLines } from './slab-lines.ts';

const CORNERS = ['Left top corner', 'Right top corner', 'Right bottom corner', 'Left bottom corner'];

/** Lays a photograph of the burned piece over the proof and corrects the model by it. Closing keeps everything as it is. */
export function BurnedPhotoDialog() {
  const { open, bitmap, busy, share, fault, found } = useBurnedPhoto();
  return (
    <SheetDialog label="A photograph of the burned piece" isOpen={open} onClose={closeBurnedPhoto}>
      <SheetTable onUndo={() => {}} onRedo={() => {}}>
        <header className="sheet-head">
          <Heading slot="title">A photograph of the burned piece</Heading>
          <span className="spacer" />
          <Button className="quiet" onPress={closeBurnedPhoto}>
            Close
          </Button>
        </header>
        <DropZone
          className="sheet-place"
          getDropOperation={() => 'copy'}
          onDrop={(event) => {
            droppedFiles(event.items).then(
              ([file]) => openBurnedPhoto(file),
              (error: Error) => setBurnedPhoto({ fault: error.message }),
            );
          }}
        >
          {bitmap ? <Corners bitmap={bitmap} /> : <Empty />}
        </DropZone>
        <aside className="sheet-panel sp-panel" aria-label="Read the photograph">
          {fault && (
            <p className="warning" role="alert">
              {fault}
            </p>
          )}
          <MisfitPictures />
          <FileTrigger
            acceptedFileTypes={PHOTO_TYPES}
            onSelect={(files) => {
              if (files?.[0]) inBackground(openBurnedPhoto(files[0]));
            }}
          >
            <Button className="wide" isDisabled={busy !== null}>
              {bitmap ? 'Another photograph…' : 'Open a photograph…'}
            </Button>
          </FileTrigger>
          {bitmap && (
            <>
              <p className="plain">
                {found
                  ? 'The slab was found. Check that the lines lie on its outline and on the picture’s edge, and drag the corners where they do not.'
                  : 'Drag the four corners until the lines lie on the slab’s outline and on the picture’s edge.'}{' '}
                They are the corners of the box round the slab: with an oval slab they lie outside it.
              </p>
              {busy ? (
                <div className="bp-busy">
                  <span role="progressbar" aria-label={busy} aria-valuenow={Math.round(100 * share)}>
                    {busy}, {Math.round(100 * share)} %
                  </span>
                  <Button className="quiet" onPress={stopReading}>
                    Stop
                  </Button>
                </div>
              ) : (
                <>
                  {!found && (
                    <Button className="wide" onPress={() => inBackground(findSlab('near'))}>
                      Lay them closer
                    </Button>
                  )}
                  <Button className="wide sheet-main" onPress={() => inBackground(readBurnedPhoto())}>
                    Correct the proof by it
                  </Button>
                </>
              )}
            </>
          )}
        </aside>
      </SheetTable>
    </SheetDialog>
  );
}

function Corners({ bitmap }: { bitmap: ImageBitmap }) {
  const corners = useBurnedPhoto((state) => state.corners);
  const { piece, photo } = usePieceStore();
  const view = { left: 0, top: 0, right: bitmap.width, bottom: bitmap.height };
  const lines = slabLines(piece, photo ? photo.height / photo.width : 1, corners);
  const move = (index: number, to: Point) =>
    setBurnedPhoto({ corners: corners.map((corner, i) => (i === index ? to : corner)), found: false });
  const path = (points: readonly Point[]) => points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(' ');
  return (
    <Sheet label="The photograph and its corners" view={view} picture={{ bitmap, quarters: 0, box: view }}>
      <svg className="sp-lines" viewBox={`0 0 ${bitmap.width} ${bitmap.height}`} aria-hidden="true">
        {['sp-line-under', 'sp-line'].map((name) => (
          <Fragment key={name}>
            <polygon className={`${name} bp-box`} points={path(corners)} />
            {lines && <polygon className={name} points={path(lines.slab)} />}
            {lines && <polygon className={name} points={path(lines.picture)} />}
          </Fragment>
        ))}
      </svg>
      {corners.map((corner, i) => (
        <Handle
          key={CORNERS[i]}
          label={CORNERS[i]}
          at={corner}
          view={view}
          place={`${Math.round(corner[0])}, ${Math.round(corner[1])} pixels`}
          step={1}
          shiftStep={10}
          onMove={(to) => move(i, to)}
        />
      ))}
    </Sheet>
  );
}

const Empty = () => (
  <div className="sp-empty">
    <h3>Photograph the burned slab from above</h3>
    <p>
      Soft light from all sides, no lamp’s reflection in the coat, all of the slab in the picture and some unburned coat
      all round. Open the photograph, or drop it here. It stays on this computer.
    </p>
  </div>
);
