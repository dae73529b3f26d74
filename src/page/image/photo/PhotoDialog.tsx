import { useCallback, useState } from 'react';
import { Button } from 'react-aria-components';
import { fitPicture } from '../../../physics/bed/placed-box.ts';
import type { Cut, HealStroke } from '../../../piece/schema.ts';
import { SheetDialog, SheetTable } from '../../fields/SheetDialog.tsx';
import { PairSwitch } from '../../fields/ValueControl.tsx';
import { type OpenPhoto, usePieceStore } from '../../store/piece-store.ts';
import { useMaskPhoto } from '../mask/MaskTable.tsx';
import { CutControls, CutSheet } from './CutSheet.tsx';
import { keptCut, wholeCut } from './cut-box.ts';
import { HealControls, HealSheet, useHealBrush } from './HealSheet.tsx';
import '../mask/mask.css';
import './photo.css';

interface PhotoDialogProps {
  photo: OpenPhoto;
  onClose: () => void;
}

/** What is made of the photograph before anything else: its cut, and healed scratches. */
interface Draft {
  readonly cut: Cut;
  /** The cut as it was last set by hand: another turn begins from it. */
  readonly wanted: Cut;
  readonly heals: readonly HealStroke[];
}

/** Crops, straightens and heals the photograph. Nothing changes until it is used; Escape leaves it as it was. */
export function PhotoDialog({ photo, onClose }: PhotoDialogProps) {
  const tall = photo.height / photo.width;
  const kept = usePieceStore((state) => state.piece.picture);
  const [job, setJob] = useState<'cut' | 'heal'>('cut');
  const [ratio, setRatio] = useState<number | null>(null);
  const [{ past, now, future }, setSteps] = useState(() => {
    const cut = kept.cut ?? wholeCut(tall);
    return { past: [] as Draft[], now: { cut, wanted: cut, heals: kept.heals } as Draft, future: [] as Draft[] };
  });
  const decoded = useMaskPhoto(photo, null);
  const brush = useHealBrush(kept.widthMm / (kept.cut?.width ?? 1));
  /** While a hand holds something, all that it does is one step. */
  const change = useCallback((edit: (draft: Draft) => Draft, goesOn = false) => {
    setSteps((steps) => ({
      past: goesOn ? steps.past : [...steps.past, steps.now],
      now: edit(steps.now),
      future: [],
    }));
  }, []);
  const undo = () =>
    setSteps((steps) => {
      const before = steps.past.at(-1);
      return before ? { past: steps.past.slice(0, -1), now: before, future: [...steps.future, steps.now] } : steps;
    });
  const redo = () =>
    setSteps((steps) => {
      const after = steps.future.at(-1);
      return after ? { past: [...steps.past, steps.now], now: after, future: steps.future.slice(0, -1) } : steps;
    });
  const use = () => {
    usePieceStore.getState().change((piece) => {
      const picture = { ...piece.picture, cut: keptCut(now.cut, tall), heals: [...now.heals] };
      // Other proportions may reach beyond the slab: it is not made larger, only fitted.
      const fitted = fitPicture(piece.slab, picture, photo);
      if (picture.crop === 'outline') return { ...piece, picture: fitted ?? picture };
      const widthMm = Math.min(picture.widthMm, fitted?.widthMm ?? picture.widthMm);
      return { ...piece, picture: { ...picture, widthMm } };
    });
    onClose();
  };
  const isPhoto = decoded !== null && typeof decoded !== 'string';
  return (
    <SheetDialog label="Crop, straighten and heal" isOpen onClose={onClose}>
      <SheetTable
        title="Photograph"
        steps={{ canUndo: past.length > 0, canRedo: future.length > 0, undo, redo }}
        actions={
          <Button
            className="quiet"
            onPress={() => change(() => ({ cut: wholeCut(tall), wanted: wholeCut(tall), heals: [] }))}
          >
            As it was taken
          </Button>
        }
      >
        <div className="sheet-place">
          {typeof decoded === 'string' && <p className="mask-fault">{decoded}</p>}
          {decoded === null && <p className="mask-fault">Opening the photograph…</p>}
          {isPhoto && job === 'cut' && (
            <CutSheet
              bitmap={decoded.bitmap}
              cut={now.cut}
              ratio={ratio}
              pixels={photo.width}
              onChange={(cut, goesOn) => change((draft) => ({ ...draft, cut, wanted: cut }), goesOn)}
            />
          )}
          {isPhoto && job === 'heal' && (
            <HealSheet
              bitmap={decoded.bitmap}
              heals={now.heals}
              brush={brush.shape}
              onHeals={(more) => change((draft) => ({ ...draft, heals: [...draft.heals, ...more] }))}
            />
          )}
        </div>
        <aside className="sheet-panel mask-panel" aria-label="Crop and healing brush">
          <div className="mask-controls">
            <PairSwitch
              label="Work on"
              value={job}
              options={[
                { id: 'cut', label: 'Crop and straighten' },
                { id: 'heal', label: 'Heal' },
              ]}
              onChange={setJob}
              hint={
                job === 'cut'
                  ? 'Drag the box, its sides or its corners; the rest of the photograph is kept.'
                  : 'Paint over scratches, dust and creases: they are filled with what lies beside them.'
              }
            />
            {job === 'cut' ? (
              <CutControls
                cut={now.cut}
                wanted={now.wanted}
                tall={tall}
                ratio={ratio}
                onRatio={setRatio}
                onChange={(cut, wanted) => change((draft) => ({ ...draft, cut, wanted }))}
              />
            ) : (
              <HealControls
                brush={brush}
                heals={now.heals}
                onClear={() => change((draft) => ({ ...draft, heals: [] }))}
              />
            )}
          </div>
          <footer className="mask-foot">
            <div className="button-row">
              <Button className="wide" onPress={onClose}>
                Cancel
              </Button>
              <Button className="wide sheet-main" onPress={use}>
                Use this photograph
              </Button>
            </div>
          </footer>
        </aside>
      </SheetTable>
    </SheetDialog>
  );
}
