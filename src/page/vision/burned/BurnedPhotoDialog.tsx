import { Fragment, useEffect, useRef } from 'react';
import { Button } from 'react-aria-components';
import { create } from 'zustand';
import { applyHomography, fitHomography } from '../../../base/geometry/homography.ts';
import type { Point } from '../../../base/geometry/outline.ts';
import { pictureFrame, shownCrop } from '../../../piece/frame.ts';
import type { Piece } from '../../../piece/schema.ts';
import { ask } from '../../burn/proof-client.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { OpenButton, PhotoDrop } from '../../fields/OpenButton.tsx';
import { openPatchPhoto } from '../../fields/open-patch-photo.ts';
import { SheetDialog, SheetTable } from '../../fields/SheetDialog.tsx';
import { Fault } from '../../fields/TaskProgress.tsx';
import { createTask } from '../../remote/task.ts';
import { PHOTO_TYPES } from '../../store/files.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import { Handle, Sheet } from '../slab/Sheet.tsx';
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

const AROUND = 96;

/** The slab's outline and the picture's edge as they lie in the photo, closed lines in pixels; null while the corners make no sense. */
function slabLines(
  { slab, picture }: Piece,
  ratio: number,
  corners: readonly Point[],
): { slab: Point[]; picture: Point[] } | null {
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
    const outline = slab.shape === 'oval' ? oval(x, y) : slab.shape === 'outline' ? slab.outlineMm : box;
    const { widthMm, heightMm } = pictureFrame(picture, { width: 1, height: ratio });
    const [u, v] = [widthMm / 2, heightMm / 2];
    const edge: Point[] =
      shownCrop(picture) === 'oval'
        ? oval(u, v)
        : [
            [-u, -v],
            [u, -v],
            [u, v],
            [-u, v],
          ];
    const placed = edge.map(([a, b]): Point => [a + picture.offsetXMm, b + picture.offsetYMm]);
    return { slab: laid(outline), picture: laid(placed) };
  } catch {
    return null;
  }
}

const oval = (a: number, b: number): Point[] =>
  Array.from({ length: AROUND }, (_, i) => {
    const angle = (2 * Math.PI * i) / AROUND;
    return [a * Math.cos(angle), b * Math.sin(angle)];
  });

/** Share of the photo's sides at which the corners start out. */
const INSET = 0.08;

/** The photograph being opened, or compared. */
export const comparing = createTask();

async function openBurnedPhoto(file: File): Promise<void> {
  comparing.tell({ fault: null });
  try {
    const canvas = await openPatchPhoto(file);
    const { width, height } = canvas;
    const rgba = canvas.getContext('2d')?.getImageData(0, 0, width, height).data ?? null;
    useBurnedPhotoStore.getState().bitmap?.close();
    const [x, y] = [INSET * width, INSET * height];
    const corners: Point[] = [
      [x, y],
      [width - x, y],
      [width - x, height - y],
      [x, height - y],
    ];
    setBurnedPhoto({ bitmap: await createImageBitmap(canvas), rgba, corners, found: false });
  } catch (error) {
    comparing.tell({ fault: `The photograph ${(error as Error).message}` });
    return;
  }
  await findSlab(null);
}

/** Lays the corners where the photograph shows the slab; `near`: from where they lie, otherwise all over the photograph. */
async function findSlab(near: 'near' | null): Promise<void> {
  const { bitmap, rgba, corners } = useBurnedPhotoStore.getState();
  const { piece, photo } = usePieceStore.getState();
  if (!bitmap || !rgba || !photo) return;
  const burned = { width: bitmap.width, height: bitmap.height, rgba };
  const asks = { piece, photoKey: photo.key, burned, near: near && corners };
  setBurnedPhoto({ misfit: null });
  await comparing.run('Looking for the slab', async (how) => {
    const slab = await ask('burned-corners', asks, how);
    if (!slab) throw new Error('The slab was not recognised in this photograph: drag its four corners into place.');
    setBurnedPhoto({ corners: slab.corners, found: true });
  });
}

/** Compares the photograph with the proof and corrects the piece by it: one step of undo. */
async function readBurnedPhoto(): Promise<void> {
  const { bitmap, rgba, corners } = useBurnedPhotoStore.getState();
  const { piece, photo } = usePieceStore.getState();
  if (!bitmap || !rgba || !photo) return;
  const burned = { photo: { width: bitmap.width, height: bitmap.height, rgba }, corners };
  const asks = { piece, photoKey: photo.key, burned };
  setBurnedPhoto({ misfit: null });
  await comparing.run('Comparing', async (how) => {
    const reading = await ask('burned-reading', asks, how);
    if (usePieceStore.getState().piece !== piece) {
      throw new Error('The piece has changed meanwhile: read the photograph again.');
    }
    if (!reading.agrees) {
      setBurnedPhoto({ misfit: { columns: reading.columns, seenL: reading.seenL, modelL: reading.modelL } });
      throw new Error(
        `Nothing that these coats, this machine and these passes are likely to give looks like that: the nearest is off by ${reading.missAfter.toFixed(1)} L* on average. Check the corners, the light and the settings; nothing was changed.`,
      );
    }
    usePieceStore.getState().change(() => reading.piece);
    setBurnedPhoto({ open: false });
    comparing.tell({
      said: `The photograph was compared at ${reading.tiles.toLocaleString()} places. The model was off by ${reading.missBefore.toFixed(1)} L*, now by ${reading.missAfter.toFixed(1)}; the proof shows the piece as it came out. Undo takes it back.`,
    });
  });
}

function closeBurnedPhoto(): void {
  comparing.stop();
  comparing.tell({ fault: null });
  setBurnedPhoto({ open: false });
}

/** A photograph of the burned piece that is being laid over the proof; never saved. */
interface BurnedPhotoState {
  readonly open: boolean;
  readonly bitmap: ImageBitmap | null;
  /** RGBA8, sRGB, of the same size. */
  readonly rgba: Uint8ClampedArray | null;
  /** Where the corners of the box round the slab lie, pixels: left top, then clockwise. */
  readonly corners: readonly Point[];
  /** Whether the corners lie where the slab was found, and are not moved since. */
  readonly found: boolean;
  /** A photograph that no model comes near to, and the nearest model: L* per tile. */
  readonly misfit: { readonly columns: number; readonly seenL: Float32Array; readonly modelL: Float32Array } | null;
}

export const useBurnedPhotoStore = create<BurnedPhotoState>()(() => ({
  open: false,
  bitmap: null,
  rgba: null,
  corners: [],
  found: false,
  misfit: null,
}));

export const setBurnedPhoto = useBurnedPhotoStore.setState;
