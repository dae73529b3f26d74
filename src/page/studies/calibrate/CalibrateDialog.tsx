import { useEffect, useRef, useState } from 'react';
import { Button, ToggleButton, ToggleButtonGroup } from 'react-aria-components';
import type { FittedNumber, Residual } from '../../../studies/calibrate/fit-card.ts';
import type { ShelfEntry } from '../../../studies/calibrate/shelf/shelf.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { OpenButton } from '../../fields/OpenButton.tsx';
import { SheetDialog, SheetTable } from '../../fields/SheetDialog.tsx';
import { Fault } from '../../fields/TaskProgress.tsx';
import { ChoiceControl, NameControl } from '../../fields/ValueControl.tsx';
import { usePieceStore } from '../../store/piece-store.ts';
import { CardPanel, CardPlace } from './CardPart.tsx';
import {
  calibrating,
  figures,
  PARTS,
  type Part,
  plusMinus,
  redoWork,
  setCalibrate,
  showPart,
  undoWork,
  useCalibrateStore,
} from './calibrate-store.ts';
import {
  checkEntry,
  drawCard,
  exportOwnShelf,
  importShelfFile,
  makeCheckStrip,
  openKeptCards,
  openOwnShelf,
  removeEntry,
  renameEntry,
  shelvePiece,
  takeEntry,
  weighCards,
} from './card-actions.ts';
import { FitPanel } from './FitPanel.tsx';
import { ReadPanel, ReadPlace } from './ReadPart.tsx';
import { ShelfPlace, useShelf } from './ShelfPlace.tsx';
import './calibrate.css';

/** A number whose spread keeps more than this share of what it was is not told by the card. */
const TOLD = 0.97;

/** What the fit made of the readings. */
function FitPlace() {
  const record = useCalibrateStore((state) => state.record);
  if (!record) {
    return (
      <div className="calibrate-paper calibrate-empty">
        <h3>From readings to numbers</h3>
        <p>
          The fit looks for the numbers of paint and beam that explain what was read, starting from what the piece says
          now, and says how sure they are. One misread patch does it no harm. It takes some ten seconds.
        </p>
      </div>
    );
  }
  const { fit } = record;
  const told = fit.numbers.filter(({ deviation, deviationBefore }) => deviation < TOLD * deviationBefore);
  const rest = fit.numbers.filter((one) => !told.includes(one));
  const most = Math.max(...told.map(({ deviationBefore }) => deviationBefore));
  const doubtful = fit.residuals.filter(({ off }) => Math.abs(off) > 3.5);
  return (
    <div className="calibrate-paper calibrate-fit">
      <table className="calibrate-numbers">
        <caption>
          <h3>The numbers, before and after</h3>
        </caption>
        <thead>
          <tr>
            <th scope="col">Number</th>
            <th scope="col">Before</th>
            <th scope="col">Fitted</th>
            <th scope="col" className="calibrate-range">
              9 in 10 between
            </th>
            <th scope="col">Spread</th>
          </tr>
        </thead>
        <tbody>
          {told.map((one) => (
            <Row key={one.name} number={one} most={most} />
          ))}
        </tbody>
        {rest.length > 0 && (
          <tbody className="calibrate-untold">
            <tr>
              <th scope="rowgroup" colSpan={5}>
                Not measured by these readings
              </th>
            </tr>
            {rest.map((one) => (
              <Row key={one.name} number={one} most={null} />
            ))}
          </tbody>
        )}
      </table>
      {fit.rowOffsetMm && (
        <p>Rows burned backwards land {fit.rowOffsetMm.mm.toFixed(2)} mm off; the passes will allow for it.</p>
      )}
      <ResidualPlot residuals={fit.residuals} />
      {doubtful.length > 0 && (
        <p className="plain">
          {doubtful.map(({ what }) => what).join(', ')}: far from the fit, so {doubtful.length === 1 ? 'it' : 'they'}{' '}
          hardly counted. Look at {doubtful.length === 1 ? 'it' : 'them'} again.
        </p>
      )}
      {fit.misfit > 2 && (
        <p className="plain">
          Readings scatter {fit.misfit.toFixed(1)} times as much as they should; the spread allows for it.
        </p>
      )}
    </div>
  );
}

/** @param most the widest spread of all, for the bars; null for a number that was not told. */
function Row({ number, most }: { number: FittedNumber; most: number | null }) {
  const { words, unit, before, value, low, high, deviationBefore, deviation } = number;
  return (
    <tr>
      <th scope="row">
        {words} {unit && <small className="calibrate-unit">{unit}</small>}
      </th>
      <td>{figures(before)}</td>
      <td>
        <strong>{figures(value)}</strong>
      </td>
      <td className="calibrate-range">
        {figures(low)} – {figures(high)}
      </td>
      <td className="calibrate-spread">
        {most === null ? (
          plusMinus(deviation)
        ) : (
          <>
            <span>
              {plusMinus(deviationBefore)} → <strong>{plusMinus(deviation)}</strong>
            </span>
            <svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">
              <rect className="calibrate-spread-before" width={(100 * deviationBefore) / most} height={8} />
              <rect className="calibrate-spread-after" y={2.5} width={(100 * deviation) / most} height={3} />
            </svg>
          </>
        )}
      </td>
    </tr>
  );
}

function ShelfPanel() {
  const { work, chosen } = useShelf();
  return (
    <>
      <PutOn />
      {chosen ? (
        <Chosen key={chosen.name} entry={chosen} />
      ) : (
        work.entries.length > 0 && <p className="plain">Choose an entry to use it, to rename it or to check it.</p>
      )}
      <div className="button-row">
        <OpenButton types={['.json']} onFile={importShelfFile}>
          Take in a file…
        </OpenButton>
        <Button className="wide" isDisabled={work.entries.length === 0} onPress={() => exportOwnShelf(work.entries)}>
          Save the shelf
        </Button>
      </div>
      <p className="hint">The shelf is kept in this browser; saved as a file it goes to another one.</p>
    </>
  );
}

/** Keeps what the piece has now. */
function PutOn() {
  const piece = usePieceStore((state) => state.piece);
  const work = useCalibrateStore((state) => state.work);
  const [name, setName] = useState('');
  if (piece.certainty.source !== 'calibrated') {
    return <p className="plain">This piece has uncalibrated numbers; fit a card first, or use an entry.</p>;
  }
  const there = work.entries.some((entry) => entry.name === name.trim());
  return (
    <section className="calibrate-put-on" aria-label="Put this piece’s numbers on the shelf">
      <NameControl label="Keep it as" value={name} onChange={setName} />
      <Button
        className="wide sheet-main"
        onPress={() => inBackground(shelvePiece(name).then((kept) => kept && setName('')))}
      >
        {there ? 'Replace it' : 'Put on the shelf'}
      </Button>
    </section>
  );
}

function Chosen({ entry }: { entry: ShelfEntry }) {
  const work = useCalibrateStore((state) => state.work);
  const comparedWith = useCalibrateStore((state) => state.comparedWith);
  const others = work.entries.filter((one) => one !== entry);
  return (
    <section className="calibrate-chosen" aria-label={entry.name}>
      <h3>{entry.name}</h3>
      <Button className="wide" onPress={() => takeEntry(entry)}>
        Use for this piece
      </Button>
      <Rename entry={entry} />
      {others.length > 0 && (
        <ChoiceControl
          label="Compare with"
          value={comparedWith ?? ''}
          choices={[
            { id: '', label: 'None' },
            ...others.map(({ name, date }) => ({ id: name, label: name, note: date })),
          ]}
          onChange={(id) => setCalibrate({ comparedWith: id === '' ? null : id })}
        />
      )}
      <Check entry={entry} />
      <div className="calibrate-entry-actions">
        <Button className="quiet" onPress={() => exportOwnShelf([entry])}>
          Save it as a file
        </Button>
        <Button className="quiet" onPress={() => removeEntry(entry)}>
          Remove
        </Button>
      </div>
    </section>
  );
}

function Rename({ entry }: { entry: ShelfEntry }) {
  const [name, setName] = useState(entry.name);
  const [reason, setReason] = useState<string | null>(null);
  useEffect(() => setName(entry.name), [entry.name]);
  return (
    <form
      className="calibrate-rename"
      onSubmit={(event) => {
        event.preventDefault();
        setReason(renameEntry(entry, name));
      }}
    >
      <NameControl label="Name" value={name} onChange={setName} />
      {name.trim() !== entry.name && (
        <Button type="submit" className="quiet">
          Rename
        </Button>
      )}
      <Fault words={reason} />
    </form>
  );
}

/** Whether the entry still holds. */
function Check({ entry }: { entry: ShelfEntry }) {
  const work = useCalibrateStore((state) => state.work);
  const drift = useCalibrateStore((state) => state.drift);
  const strips = work.readings.filter(({ card }) => card.kind === 'check-strip' && card.patches.length > 1);
  const latest = strips.at(-1);
  return (
    <div className="calibrate-check">
      <h4>Does it still hold?</h4>
      <p className="hint">A strip of eight patches shows in a minute whether the lens is dirty or the tube has aged.</p>
      <div className="button-row">
        <Button className="wide" onPress={() => inBackground(makeCheckStrip(entry))}>
          Check strip
        </Button>
        <Button className="wide" isDisabled={!latest} onPress={() => latest && inBackground(checkEntry(entry, latest))}>
          Compare
        </Button>
      </div>
      {!latest && <p className="hint">Compare: once the strip is read.</p>}
      {drift?.name === entry.name && (
        <p className={drift.drift.sure ? 'warning' : 'calibrate-said'} role="status">
          {drift.drift.words}
        </p>
      )}
    </div>
  );
}

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
  const kind = useCalibrateStore((state) => state.work.kind);
  const wish = useCalibrateStore((state) => state.work.wish);
  const kept = useCalibrateStore((state) => state.cardKept);
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
  const part = useCalibrateStore((state) => state.part);
  const past = useCalibrateStore((state) => state.past);
  const future = useCalibrateStore((state) => state.future);
  const work = useCalibrateStore((state) => state.work);
  const busy = calibrating.use((state) => state.busy);
  const fault = calibrating.use((state) => state.fault);
  const said = calibrating.use((state) => state.said);
  const { Place, Panel } = SHOWN[part];
  const panel = useFocusKept(part);
  const counts: Partial<Record<Part, number>> = { fit: work.readings.length, shelf: work.entries.length };
  return (
    <SheetTable
      title="Calibrate with a card"
      beside={
        <ToggleButtonGroup
          aria-label="Parts"
          className="pair-group calibrate-parts"
          selectionMode="single"
          disallowEmptySelection
          selectedKeys={[part]}
          onSelectionChange={(keys) => {
            const next = PARTS.find((one) => keys.has(one));
            if (next) showPart(next);
          }}
        >
          {PARTS.map((one, i) => (
            <ToggleButton key={one} id={one} className="pair-button">
              <span className="calibrate-number">{i + 1}</span> {LABELS[one]}
              {counts[one] ? <span className="calibrate-count"> {counts[one]}</span> : null}
            </ToggleButton>
          ))}
        </ToggleButtonGroup>
      }
      steps={{ canUndo: past.length > 0, canRedo: future.length > 0, undo: undoWork, redo: redoWork }}
      onClose={() => setCalibrate({ open: false })}
    >
      <div className="sheet-place calibrate-place">
        <Place />
      </div>
      <aside
        ref={panel}
        tabIndex={-1}
        className="sheet-panel calibrate-panel"
        aria-label={`${LABELS[part]}: what to do`}
      >
        <div className="calibrate-news">
          <div role="status">
            {busy && (
              <div className="calibrate-busy">
                <p>{busy}…</p>
                <Button className="quiet" onPress={calibrating.stop}>
                  Stop
                </Button>
                <i aria-hidden="true" />
              </div>
            )}
            {said && !busy && <p className="calibrate-said">{said}</p>}
          </div>
          <Fault words={fault} />
        </div>
        <Panel />
      </aside>
    </SheetTable>
  );
}

const WIDTH = 640;

const HEIGHT = 150;

/** Standard deviations shown either way. */
const REACH = 4;

const LEFT = 26;

/** How far each reading lies from the fit, in its own standard deviations: without a pattern if all is as thought. */
function ResidualPlot({ residuals }: { residuals: readonly Residual[] }) {
  if (residuals.length === 0) return null;
  const y = (off: number) => HEIGHT / 2 - (Math.min(REACH, Math.max(-REACH, off)) / (REACH + 0.4)) * (HEIGHT / 2);
  const x = (i: number) => LEFT + ((i + 0.5) / residuals.length) * (WIDTH - LEFT - 6);
  const within = residuals.filter(({ off }) => Math.abs(off) <= 2).length;
  const words = `${within} of ${residuals.length} readings lie within two of their standard deviations of the fit.`;
  return (
    <figure className="calibrate-residuals">
      <figcaption>
        <h3>What the fit leaves over</h3>
        <p className="calibrate-residuals-words">
          {words} Above the line: lighter, wider or at higher power than the fit says.
        </p>
      </figcaption>
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={words}>
        <rect className="calibrate-usual" x={LEFT} y={y(2)} width={WIDTH - LEFT} height={y(-2) - y(2)} />
        {[-4, -2, 0, 2, 4].map((tick) => (
          <g key={tick}>
            <line
              className={tick === 0 ? 'calibrate-zero' : 'calibrate-tick'}
              x1={LEFT}
              x2={WIDTH}
              y1={y(tick)}
              y2={y(tick)}
            />
            <text x={LEFT - 7} y={y(tick) + 3}>
              {tick > 0 ? `+${tick}` : String(tick).replace('-', '−')}
            </text>
          </g>
        ))}
        {residuals.map(({ what, measured, fitted, off, counted }, i) => (
          <circle
            key={what}
            className={counted < 0.5 ? 'calibrate-dot calibrate-dot-doubtful' : 'calibrate-dot'}
            cx={x(i)}
            cy={y(off)}
            r={3}
          >
            <title>{`${what}: read ${measured.toPrecision(3)}, fit ${fitted.toPrecision(3)}`}</title>
          </circle>
        ))}
      </svg>
    </figure>
  );
}
