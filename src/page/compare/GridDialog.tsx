import { useEffect, useState } from 'react';
import { Button, Heading } from 'react-aria-components';
import { pictureFrame } from '../../piece/frame.ts';
import { ask } from '../burn/proof-client.ts';
import { SheetDialog } from '../fields/SheetDialog.tsx';
import { saveFile } from '../files/save-file.ts';
import { shrink } from './pin-thumbnail.ts';
import { pinPiece } from './pins.ts';
import '../fields/sheet-head.css';
import { useProofStore } from '../burn/proof-store.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { sayValue } from './axis-words.ts';
import { burnGrid } from './burn-grid.ts';
import { GridCells } from './GridCells.tsx';
import { GridPanel } from './GridPanel.tsx';
import { gridSheet } from './grid-sheet.ts';
import { type GridCell, type GridPlan, planFor, setGrid, useGridStore } from './grid-store.ts';
import { heldIn } from './hold-crop.ts';
import './grid.css';
import { inBackground } from '../faults/tell-fault.ts';

/** Dots along the side of the crop that a grid begins with. */
const FIRST_DOTS = 300;

/** Small proofs of a crop of the picture over any two settings. */
export function GridDialog({ onClose }: { onClose: () => void }) {
  const { piece, photo, change } = usePieceStore();
  const surface = useProofStore((state) => state.current?.coarse ?? null);
  const { plan: kept, grid, burning, fault, said } = useGridStore();
  const [first] = useState(() => planFor(piece, kept));
  const plan = kept ?? first;
  const setPlan = (next: GridPlan) => setGrid({ plan: next });
  const photoKey = photo?.key;

  useEffect(() => {
    if (!photo) return;
    const whole = pictureFrame(piece.picture, photo);
    if (first.crop) {
      setGrid({ plan: { ...first, crop: heldIn(whole, first.crop) } });
      return;
    }
    const side = FIRST_DOTS * piece.passes[0].rowPitchMm;
    const size = heldIn(whole, { xMm: 0, yMm: 0, widthMm: side, heightMm: side });
    inBackground(
      ask('telling-crop', { piece, photoKey: photo.key, widthMm: size.widthMm, heightMm: size.heightMm }).then(
        (crop) => setGrid((state) => ({ plan: { ...(state.plan ?? first), crop: heldIn(whole, crop) } })),
        (error: Error) => setGrid({ fault: error.message }),
      ),
    );
  }, [piece, photo, first]);

  const done = grid?.cells.filter(({ answer }) => answer !== null).length ?? 0;
  const nameOf = ({ column, row }: GridCell): string => {
    if (!grid) return '';
    const { across, down } = grid.plan;
    return `${sayValue(across.setting, across.values[column])}, ${sayValue(down.setting, down.values[row])}`;
  };
  const take = (cell: GridCell) => {
    const { name, log, quote } = piece;
    change(() => ({ ...cell.piece, name, log, quote }));
    onClose();
  };
  const pin = (cell: GridCell) => {
    if (!grid || !cell.answer) return;
    const id = pinPiece(cell.piece, grid.photoKey, { name: nameOf(cell), thumbnail: shrink(cell.answer) });
    setGrid({ said: id ? `${nameOf(cell)}: pinned to the strip.` : 'The strip is full; take a proof off it first.' });
  };
  const save = async () => {
    if (!grid) return;
    try {
      saveFile('grid.png', await ask('picture-sheet', gridSheet(piece.name, grid)), 'image/png');
    } catch (error) {
      setGrid({ fault: (error as Error).message });
    }
  };
  return (
    <SheetDialog label="Grid of proofs" isOpen onClose={onClose}>
      <div className="sheet-table grid-table">
        <header className="sheet-head sheet-head-line">
          <Heading slot="title">Grid</Heading>
          <p className="plain">A crop of the picture, burned over two settings. Press a picture to use or pin it.</p>
          <span className="spacer" />
          <Button className="quiet" isDisabled={!grid || done < grid.cells.length} onPress={() => inBackground(save())}>
            Save as one picture
          </Button>
          <Button className="wide sheet-close" onPress={onClose}>
            Done
          </Button>
        </header>
        {grid ? (
          <GridCells grid={grid} onTake={take} onPin={pin} />
        ) : (
          <div className="grid-place grid-empty">
            <p>Choose the crop and what changes across and down, then burn the grid.</p>
          </div>
        )}
        <aside className="sheet-panel grid-panel" aria-label="What the grid is made of">
          <GridPanel
            plan={plan}
            piece={piece}
            surface={surface}
            onPlan={setPlan}
            burning={burning !== null}
            share={grid ? done / grid.cells.length : 0}
            tookMs={grid?.tookMs ?? null}
            fault={fault}
            said={said}
            isStale={grid !== null && (grid.piece !== piece || JSON.stringify(grid.plan) !== JSON.stringify(plan))}
            onBurn={() =>
              photoKey && plan.crop && inBackground(burnGrid({ ...plan, crop: plan.crop }, piece, photoKey))
            }
            onStop={() => burning?.abort()}
          />
        </aside>
      </div>
    </SheetDialog>
  );
}
