import { useState } from 'react';
import { ToggleButton, ToggleButtonGroup } from 'react-aria-components';
import { labToHex } from '../../../base/color/lab.ts';
import { type Card, powerOf } from '../../../vision/card/card.ts';
import { PairSwitch } from '../../fields/PairSwitch.tsx';
import { CardPicture } from './CardPicture.tsx';
import { editWork, useCalibrate } from './calibrate-store.ts';
import { LineWidths } from './LineWidths.tsx';
import type { CardLooks } from './messages.ts';

type What = 'shows' | 'clears' | 'scorches';
const QUESTIONS: readonly { what: What; label: string; note: string }[] = [
  { what: 'shows', label: 'First that shows', note: 'the weakest patch that can be told from the paint' },
  { what: 'clears', label: 'First that clears', note: 'no dark residue left, also under a lamp from the side' },
  { what: 'scorches', label: 'First that scorches', note: 'the undercoat turns yellow or brown' },
];
const NOTHING = { shows: null, clears: null, scorches: null };

/** The rows of patches in the order of their labels, to be clicked; or the lines to be measured. */
export function EyePlace({ card, looks }: { card: Card; looks: CardLooks }) {
  const { notes } = useCalibrate((state) => state.work);
  const [row, setRow] = useState('');
  if (card.ladders.length === 0) return <LineWidths card={card} looks={looks} />;
  const ladder = card.ladders.find(({ name }) => name === row) ?? card.ladders[0];
  const seen = notes.ladders[ladder.name] ?? NOTHING;
  const steps = ladder.patches.map((id) => card.patches.find((patch) => patch.id === id)!);
  const choose = (what: What, label: number | null) =>
    editWork({ notes: { ...notes, ladders: { ...notes.ladders, [ladder.name]: { ...seen, [what]: label } } } });
  return (
    <div className="cal-paper cal-eye">
      <div className="cal-eye-head">
        <h3>Three clicks: what do you see on the burned card?</h3>
        <p>Find the patches by the numbers burned under them. Leave out what no patch does.</p>
        {card.ladders.length > 1 && (
          <PairSwitch
            label="Row"
            value={ladder.name}
            options={card.ladders.map(({ name }) => ({ id: name, label: name }))}
            onChange={setRow}
          />
        )}
      </div>
      {QUESTIONS.map(({ what, label, note }) => (
        <div key={what} className="cal-question">
          <p>
            <strong>{label}</strong> <span>{note}</span>
          </p>
          <ToggleButtonGroup
            aria-label={label}
            className="cal-steps"
            selectionMode="single"
            selectedKeys={seen[what] === null ? [] : [String(seen[what])]}
            onSelectionChange={(keys) => {
              const [key] = [...keys];
              choose(what, key === undefined ? null : Number(key));
            }}
          >
            {steps.map((patch) => {
              const power = 100 * powerOf(patch.burns[patch.burns.length - 1]);
              return (
                <ToggleButton
                  key={patch.id}
                  id={patch.label}
                  className="cal-step"
                  aria-label={`Patch ${patch.label}, ${power.toFixed(0)} % power`}
                >
                  <i style={{ background: labToHex(looks.patches[patch.id] ?? looks.paint) }} />
                  <b>{patch.label}</b>
                  <small>{power.toFixed(0)} %</small>
                </ToggleButton>
              );
            })}
          </ToggleButtonGroup>
        </div>
      ))}
      <figure className="cal-eye-card">
        <CardPicture card={card} looks={looks} label="Where the patches lie on the card" small />
        <figcaption>Colours are what today’s numbers expect; go by what you see on the wood.</figcaption>
      </figure>
    </div>
  );
}
