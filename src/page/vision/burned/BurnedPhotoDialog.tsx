import { Fragment, useEffect, useRef } from 'react';
import { Button } from 'react-aria-components';
import { applyHomography, fitHomography } from '../../../base/geometry/homography.ts';
import type { Point } from '../../../base/geometry/outline.ts';
import { letteringOutlines } from '../../../burn/lettering.ts';
import { picturePerimeter, slabPerimeter } from '../../../physics/bed/bed.ts';
import type { Piece } from '../../../piece/schema.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { OpenButton, PhotoDrop } from '../../fields/OpenButton.tsx';
import { SheetDialog, SheetTable } from '../../fields/SheetDialog.tsx';
import { Fault } from '../../fields/TaskProgress.tsx';
import { PHOTO_TYPES } from '../../store/files.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import { Handle, Sheet } from '../slab/Sheet.tsx';
import {
  closeBurnedPhoto,
  comparing,
  findSlab,
  openBurnedPhoto,
  readBurnedPhoto,
  setBurnedPhoto,
  useBurnedPhotoStore,
} from './burned-photo.ts';
import '../slab/slab-photo.css';
import './burned-photo.css';

const CORNERS = ['Left top corner', 'Right top corner', 'Right bottom corner', 'Left bottom corner'];

/** Lays a photograph of the burned piece over the proof and corrects the model by it. Closing keeps everything as it is. */
export function BurnedPhotoDialog() {
  const open = useBurnedPhotoStore((state) => state.open);
  const bitmap = useBurnedPhotoStore((state) => state.bitmap);
  const found = useBurnedPhotoStore((state) => state.found);
  const busy = comparing.use((state) => state.busy);
  const percent = comparing.use((state) => Math.round(100 * state.share));
  const fault = comparing.use((state) => state.fault);
  return (
    <SheetDialog label="A photograph of the burned piece" isOpen={open} onClose={closeBurnedPhoto}>
      <SheetTable title="A photograph of the burned piece" onClose={closeBurnedPhoto}>
        <PhotoDrop className="sheet-place" of={comparing} onPhoto={openBurnedPhoto}>
          {bitmap ? <Corners bitmap={bitmap} /> : <Empty />}
        </PhotoDrop>
        <aside className="sheet-panel photo-panel" aria-label="Read the photograph">
          <Fault words={fault} />
          <MisfitPictures />
          <OpenButton types={PHOTO_TYPES} isDisabled={busy !== null} onFile={openBurnedPhoto}>
            {bitmap ? 'Another photograph…' : 'Open a photograph…'}
          </OpenButton>
          {bitmap && (
            <>
              <p className="plain">
                {found
                  ? 'The slab was found. Check that the lines lie on its outline and on the picture’s edge, and drag the corners where they do not.'
                  : 'Drag the four corners until the lines lie on the slab’s outline and on the picture’s edge.'}{' '}
                They are the corners of the box round the slab: with an oval slab they lie outside it.
              </p>
              {busy ? (
                <div className="burned-photo-busy">
                  <span role="progressbar" aria-label={busy} aria-valuenow={percent}>
                    {busy}, {percent} %
                  </span>
                  <Button className="quiet" onPress={comparing.stop}>
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
  const corners = useBurnedPhotoStore((state) => state.corners);
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const view = { left: 0, top: 0, right: bitmap.width, bottom: bitmap.height };
  const lines = slabLines(piece, photo ? photo.height / photo.width : 1, corners);
  const move = (index: number, to: Point) =>
    setBurnedPhoto({ corners: corners.map((corner, i) => (i === index ? to : corner)), found: false });
  const path = (points: readonly Point[]) => points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(' ');
  return (
    <Sheet label="The photograph and its corners" view={view} picture={{ bitmap, quarters: 0, box: view }}>
      <svg className="photo-lines" viewBox={`0 0 ${bitmap.width} ${bitmap.height}`} aria-hidden="true">
        {['photo-line-under', 'photo-line'].map((name) => (
          <Fragment key={name}>
            <polygon className={`${name} burned-photo-box`} points={path(corners)} />
            {lines && <polygon className={name} points={path(lines.slab)} />}
            {lines && <polygon className={name} points={path(lines.picture)} />}
            {lines?.letters.map((letter, i) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: letters have no identity but their place
              <polygon className={name} key={i} points={path(letter)} />
            ))}
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
  <div className="photo-empty">
    <h3>Photograph the burned slab from above</h3>
    <p>
      Soft light from all sides, no lamp’s reflection in the coat, all of the slab in the picture and some unburned coat
      all round. Open the photograph, or drop it here. It stays on this computer.
    </p>
  </div>
);

/** What the photograph shows and the nearest that the model can give, side by side, in the greys of their lightness. */
function MisfitPictures() {
  const misfit = useBurnedPhotoStore((state) => state.misfit);
  if (!misfit) return null;
  return (
    <div className="burned-photo-misfit">
      <TilePicture label="The photograph" columns={misfit.columns} lightness={misfit.seenL} />
      <TilePicture label="The nearest model" columns={misfit.columns} lightness={misfit.modelL} />
    </div>
  );
}

interface TilePictureProps {
  readonly label: string;
  readonly columns: number;
  readonly lightness: Float32Array;
}

function TilePicture({ label, columns, lightness }: TilePictureProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const rows = lightness.length / columns;
  useEffect(() => {
    const context = canvas.current?.getContext('2d');
    if (!context) return;
    const image = context.createImageData(columns, rows);
    lightness.forEach((value, tile) => {
      if (Number.isNaN(value)) return;
      image.data.fill(2.55 * value, 4 * tile, 4 * tile + 3);
      image.data[4 * tile + 3] = 255;
    });
    context.putImageData(image, 0, 0);
  }, [columns, rows, lightness]);
  return (
    <figure>
      <canvas ref={canvas} width={columns} height={rows} role="img" aria-label={label} />
      <figcaption>{label}</figcaption>
    </figure>
  );
}

/** The slab's rim, the picture's edge and lettering as they lie in the photo, closed lines in pixels; null while the corners make no sense. */
function slabLines(
  piece: Piece,
  ratio: number,
  corners: readonly Point[],
): { slab: Point[]; picture: Point[]; letters: Point[][] } | null {
  const { slab, picture } = piece;
  const photo = { width: 1, height: ratio };
  const [x, y] = [slab.widthMm / 2, slab.heightMm / 2];
  const box: Point[] = [
    [-x, -y],
    [x, -y],
    [x, y],
    [-x, y],
  ];
  try {
    const toPhoto = fitHomography(box, corners);
    const laid = (points: readonly Point[]) =>
      points.flatMap((point): Point[] => {
        const at = applyHomography(toPhoto, point);
        return at ? [at] : [];
      });
    return {
      slab: laid(slabPerimeter(slab)),
      picture: laid(picturePerimeter(slab, picture, photo)),
      letters: letteringOutlines(piece, photo).flat().map(laid),
    };
  } catch {
    return null;
  }
}
