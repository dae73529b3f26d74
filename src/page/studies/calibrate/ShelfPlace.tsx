import { useEffect, useState } from 'react';
import { ToggleButton, ToggleButtonGroup } from 'react-aria-components';
import { createPiece } from '../../../piece/defaults.ts';
import { compareEntries, type ShelfEntry, takeFromShelf } from '../../../studies/calibrate/shelf/shelf.ts';
import { parametersOf } from '../../../studies/sure/spread.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import type { CardDrawing } from '../../store/records.ts';
import { CardPicture } from './CardPart.tsx';
import { calibrating, figures, keptDrawing, plusMinus, setCalibrate, useCalibrateStore } from './calibrate-store.ts';

/** The shelf: entries to choose, and the numbers of the chosen one, beside another's if two are compared. */
export function ShelfPlace() {
  const { work, chosen, compared } = useShelf();
  const { entries } = work;
  if (entries.length === 0) {
    return (
      <div className="calibrate-paper calibrate-empty">
        <h3>The shelf is empty</h3>
        <p>
          A calibrated paint on its machine is kept here by name, with date, card, numbers and spread, for every later
          piece. Fit a card and use its numbers; then they can be put here.
        </p>
      </div>
    );
  }
  return (
    <div className="calibrate-paper calibrate-shelf">
      <ToggleButtonGroup
        aria-label="Calibrated stacks and machines"
        className="calibrate-entries"
        selectionMode="single"
        selectedKeys={chosen ? [chosen.name] : []}
        onSelectionChange={(keys) => {
          const [name] = [...keys];
          calibrating.tell({ fault: null, said: null });
          setCalibrate({ chosen: name === undefined ? null : String(name) });
        }}
      >
        {entries.map((entry) => (
          <ToggleButton key={entry.name} id={entry.name} className="calibrate-entry">
            <Drawing name={entry.cardPicture} />
            <b>{entry.name}</b>
            <small>
              {entry.date} · {entry.stack.coats.map(({ name }) => name).join(' over ')}
            </small>
            <small>{entry.machine.name}</small>
          </ToggleButton>
        ))}
      </ToggleButtonGroup>
      {chosen && (compared ? <Compared first={chosen} second={compared} /> : <Numbers entry={chosen} />)}
    </div>
  );
}

/** The chosen entry, and the one that it is compared with. */
export function useShelf() {
  const work = useCalibrateStore((state) => state.work);
  const name = useCalibrateStore((state) => state.chosen);
  const comparedWith = useCalibrateStore((state) => state.comparedWith);
  const chosen = work.entries.find((entry) => entry.name === name) ?? null;
  const compared = work.entries.find((entry) => entry.name === comparedWith && entry !== chosen) ?? null;
  return { work, chosen, compared };
}

function Numbers({ entry }: { entry: ShelfEntry }) {
  const piece = takeFromShelf(createPiece('', ''), entry);
  const { covariance } = entry.certainty;
  const rows = parametersOf(piece).map((parameter) => {
    const at = covariance?.names.indexOf(parameter.name) ?? -1;
    return { parameter, deviation: at < 0 ? null : Math.sqrt(covariance!.matrix[at][at]) };
  });
  return (
    <table className="calibrate-numbers">
      <caption>
        <h3>{entry.name}</h3>
      </caption>
      <thead>
        <tr>
          <th scope="col">Number</th>
          <th scope="col">Value</th>
          <th scope="col">Spread</th>
        </tr>
      </thead>
      <tbody>
        {rows.map(({ parameter, deviation }) => (
          <tr key={parameter.name}>
            <th scope="row">
              {parameter.words} {parameter.unit && <small className="calibrate-unit">{parameter.unit}</small>}
            </th>
            <td>{figures(parameter.get(piece))}</td>
            <td>{deviation === null ? 'not fitted' : plusMinus(deviation)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Compared({ first, second }: { first: ShelfEntry; second: ShelfEntry }) {
  return (
    <table className="calibrate-numbers">
      <caption>
        <h3>
          {first.name} and {second.name}
        </h3>
      </caption>
      <thead>
        <tr>
          <th scope="col">Number</th>
          <th scope="col">{first.name}</th>
          <th scope="col">{second.name}</th>
          <th scope="col">Apart</th>
        </tr>
      </thead>
      <tbody>
        {compareEntries(first, second).map(({ name, words, unit, first: a, second: b, ratio, apart }) => (
          <tr key={name}>
            <th scope="row">
              {words} {unit && <small className="calibrate-unit">{unit}</small>}
            </th>
            <td>{a === null ? '–' : figures(a)}</td>
            <td>{b === null ? '–' : figures(b)}</td>
            <td>
              {ratio === null ? '–' : `${ratio >= 1 ? '+' : '−'}${Math.abs(100 * (ratio - 1)).toFixed(0)} %`}
              {apart !== null && Math.abs(apart) > 2 && <em className="mark">clear difference</em>}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** The card of an entry as it came out, if this browser keeps it. */
function Drawing({ name }: { name: string }) {
  const [drawing, setDrawing] = useState<CardDrawing | null>(null);
  useEffect(() => {
    let gone = false;
    setDrawing(null);
    if (name !== '') {
      inBackground(
        keptDrawing(name).then(
          (found) => gone || setDrawing(found),
          () => {},
        ),
      );
    }
    return () => {
      gone = true;
    };
  }, [name]);
  return (
    <span className="calibrate-entry-card">
      {drawing && <CardPicture card={drawing.card} looks={drawing.looks} label="Its card" small />}
    </span>
  );
}
