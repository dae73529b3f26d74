import { useEffect, useState } from 'react';
import { Button, FileTrigger } from 'react-aria-components';
import type { ShelfEntry } from '../../../studies/calibrate/shelf/shelf.ts';
import { inBackground } from '../../faults/tell-fault.ts';
import { ChoiceControl } from '../../fields/ChoiceControl.tsx';
import { NameControl } from '../../fields/NameControl.tsx';
import { usePieceStore } from '../../store/piece-store.ts';
import { setCalibrate, useCalibrate } from './calibrate-store.ts';
import { useShelf } from './ShelfPlace.tsx';
import {
  checkEntry,
  exportOwnShelf,
  importShelfFile,
  makeCheckStrip,
  removeEntry,
  renameEntry,
  shelvePiece,
  takeEntry,
} from './shelf-actions.ts';

export function ShelfPanel() {
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
        <FileTrigger
          acceptedFileTypes={['.json']}
          onSelect={(files) => {
            if (files?.[0]) inBackground(importShelfFile(files[0]));
          }}
        >
          <Button className="wide">Take in a file…</Button>
        </FileTrigger>
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
  const { piece } = usePieceStore();
  const { work } = useCalibrate();
  const [name, setName] = useState('');
  if (piece.certainty.source !== 'calibrated') {
    return <p className="plain">This piece has uncalibrated numbers; fit a card first, or use an entry.</p>;
  }
  const there = work.entries.some((entry) => entry.name === name.trim());
  return (
    <section className="cal-put-on" aria-label="Put this piece’s numbers on the shelf">
      <NameControl label="Keep it as" value={name} onChange={setName} />
      <Button
        className="wide sheet-main"
        onPress={() => inBackground(shelvePiece(name).then((kept) => kept && setName('')))}
      >
        {there ? 'Put in place of that one' : 'Put on the shelf'}
      </Button>
    </section>
  );
}

function Chosen({ entry }: { entry: ShelfEntry }) {
  const { work, comparedWith } = useCalibrate();
  const others = work.entries.filter((one) => one !== entry);
  return (
    <section className="cal-chosen" aria-label={entry.name}>
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
      <div className="cal-entry-actions">
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
      className="cal-rename"
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
      {reason && (
        <p className="warning" role="alert">
          {reason}
        </p>
      )}
    </form>
  );
}

/** Whether the entry still holds. */
function Check({ entry }: { entry: ShelfEntry }) {
  const { work, drift } = useCalibrate();
  const strips = work.readings.filter(({ card }) => card.kind === 'check-strip' && card.patches.length > 1);
  const latest = strips.at(-1);
  return (
    <div className="cal-check">
      <h4>Does it still hold?</h4>
      <p className="hint">A strip of eight patches tells in a minute whether the lens is dirty or the tube has aged.</p>
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
        <p className={drift.drift.sure ? 'warning' : 'cal-said'} role="status">
          {drift.drift.words}
        </p>
      )}
    </div>
  );
}
