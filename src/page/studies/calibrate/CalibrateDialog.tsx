import { useEffect, useRef } from 'react';
import { Button, Heading, ToggleButton, ToggleButtonGroup } from 'react-aria-components';
import { SheetDialog } from '../../fields/SheetDialog.tsx';
import { SheetTable } from '../../fields/SheetTable.tsx';
import { usePieceStore } from '../../store/piece-store.ts';
import { stopWork } from './busy.ts';
import { CardPanel, CardPlace } from './CardPart.tsx';
import { PARTS, type Part, redoWork, setCalibrate, undoWork, useCalibrate } from './calibrate-store.ts';
import { drawCard, openKeptCards, weighCards } from './card-actions.ts';
import { FitPanel } from './FitPanel.tsx';
import { FitPlace } from './FitPlace.tsx';
import { ReadPanel, ReadPlace } from './ReadPart.tsx';
import { ShelfPanel } from './ShelfPanel.tsx';
import { ShelfPlace } from './ShelfPlace.tsx';
import { openOwnShelf } from './shelf-actions.ts';
import './calibrate.css';
import { inBackground } from '../../faults/tell-fault.ts';

const LABELS: Readonly<Record<Part, string>> = { card: 'Card', read: 'Read', fit: 'Fit', shelf: 'Shelf' };
const SHOWN = {
  card: { Place: CardPlace, Panel: CardPanel },
  read: { Place: ReadPlace, Panel: ReadPanel },
  fit: { Place: FitPlace, Panel: FitPanel },
  shelf: { Place: ShelfPlace, Panel: ShelfPanel },
};

/** Rest after a change before the card is drawn anew; the kinds are weighed later still. */
const SETTLE_MS = 120;

/** From a card that is burned on scrap to numbers that hold. Closing keeps everything as it is. */
export function CalibrateDialog() {
  useEffect(() => {
    inBackground(openKeptCards());
    inBackground(openOwnShelf());
  }, []);
  useFollowingCard();
  return (
    <SheetDialog label="Calibrate with a card" isOpen onClose={() => setCalibrate({ open: false })}>
      <Body />
    </SheetDialog>
  );
}

/** Draws the card for what is chosen, and weighs the kinds on the scrap. */
function useFollowingCard(): void {
  const piece = usePieceStore((state) => state.piece);
  const kind = useCalibrate((state) => state.work.kind);
  const wish = useCalibrate((state) => state.work.wish);
  const kept = useCalibrate((state) => state.cardKept);
  useEffect(() => {
    if (kept) return;
    const timer = setTimeout(() => inBackground(drawCard(piece, { kind, wish })), SETTLE_MS);
    return () => clearTimeout(timer);
  }, [piece, kind, wish, kept]);
  useEffect(() => {
    const timer = setTimeout(() => inBackground(weighCards(piece, wish.widthMm, wish.heightMm)), 4 * SETTLE_MS);
    return () => clearTimeout(timer);
  }, [piece, wish.widthMm, wish.heightMm]);
}

/** A button that leads to another part goes with its own: the focus then goes to the part's panel. */
function useFocusKept(part: Part) {
  const panel = useRef<HTMLElement>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: looks after every change of part
  useEffect(() => {
    const { activeElement } = document;
    if (!activeElement || activeElement === document.body) panel.current?.focus();
  }, [part]);
  return panel;
}

function Body() {
  const { part, past, future, busy, fault, said, work } = useCalibrate();
  const { Place, Panel } = SHOWN[part];
  const panel = useFocusKept(part);
  const counts: Partial<Record<Part, number>> = { fit: work.readings.length, shelf: work.entries.length };
  return (
    <SheetTable onUndo={undoWork} onRedo={redoWork}>
      <header className="sheet-head">
        <Heading slot="title">Calibrate with a card</Heading>
        <ToggleButtonGroup
          aria-label="Parts"
          className="pair-group cal-parts"
          selectionMode="single"
          disallowEmptySelection
          selectedKeys={[part]}
          onSelectionChange={(keys) => {
            const next = PARTS.find((one) => keys.has(one));
            if (next) setCalibrate({ part: next, said: null, fault: null });
          }}
        >
          {PARTS.map((one, i) => (
            <ToggleButton key={one} id={one} className="pair-button">
              <span className="cal-number">{i + 1}</span> {LABELS[one]}
              {counts[one] ? <span className="cal-count"> {counts[one]}</span> : null}
            </ToggleButton>
          ))}
        </ToggleButtonGroup>
        <span className="spacer" />
        <Button className="quiet" isDisabled={past.length === 0} onPress={undoWork}>
          Undo
        </Button>
        <Button className="quiet" isDisabled={future.length === 0} onPress={redoWork}>
          Redo
        </Button>
        <Button className="quiet" onPress={() => setCalibrate({ open: false })}>
          Close
        </Button>
      </header>
      <div className="sheet-place cal-place">
        <Place />
      </div>
      <aside ref={panel} tabIndex={-1} className="sheet-panel cal-panel" aria-label={`${LABELS[part]}: what to do`}>
        <div className="cal-news">
          <div role="status">
            {busy && (
              <div className="cal-busy">
                <p>{busy}…</p>
                <Button className="quiet" onPress={stopWork}>
                  Stop
                </Button>
                <i aria-hidden="true" />
              </div>
            )}
            {said && !busy && <p className="cal-said">{said}</p>}
          </div>
          {fault && (
            <p className="warning" role="alert">
              {fault}
            </p>
          )}
        </div>
        <Panel />
      </aside>
    </SheetTable>
  );
}
