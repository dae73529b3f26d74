import { Button, FileTrigger } from 'react-aria-components';
import { inBackground } from '../../faults/tell-fault.ts';
import { ChoiceControl } from '../../fields/ChoiceControl.tsx';
import { PairSwitch } from '../../fields/PairSwitch.tsx';
import { setCalibrate, useCalibrate } from './calibrate-store.ts';
import { openCardFile, takeCard } from './card-actions.ts';
import { EyePanel } from './EyePanel.tsx';
import { EyePlace } from './EyePlace.tsx';
import { PhotoPanel } from './PhotoPanel.tsx';
import { PhotoPlace } from './PhotoPlace.tsx';
import { KIND_LABELS } from './words.ts';

export function ReadPlace() {
  const { card, looks, how } = useCalibrate();
  if (!card || !looks) {
    return (
      <div className="cal-paper cal-empty">
        <h3>Which card?</h3>
        <p>Choose one that was saved here, or open its data file.</p>
      </div>
    );
  }
  return how === 'eye' ? <EyePlace card={card} looks={looks} /> : <PhotoPlace card={card} looks={looks} />;
}

export function ReadPanel() {
  const { card, how } = useCalibrate();
  return (
    <>
      <WhichCard />
      <PairSwitch
        label="Read it"
        value={how}
        options={[
          { id: 'eye', label: 'By eye' },
          { id: 'photo', label: 'Off a photograph' },
        ]}
        onChange={(next) => setCalibrate({ how: next, fault: null, said: null })}
      />
      {card && (how === 'eye' ? <EyePanel card={card} /> : <PhotoPanel card={card} />)}
    </>
  );
}

/** The card that was burned: the one on the sheet, one kept in this browser, or one from its file. */
function WhichCard() {
  const { card, cards } = useCalibrate();
  const idOf = (one: NonNullable<typeof card>) => `${one.kind} ${one.id}`;
  const others = cards.filter((kept) => !card || idOf(kept.card) !== idOf(card));
  return (
    <div className="cal-which">
      {others.length > 0 ? (
        <ChoiceControl
          label="Card"
          value={card ? idOf(card) : ''}
          choices={[
            ...(card ? [{ id: idOf(card), label: `${KIND_LABELS[card.kind]} ${card.id}` }] : []),
            ...others.map(({ card: one, date }) => ({
              id: idOf(one),
              label: `${KIND_LABELS[one.kind]} ${one.id}`,
              note: `Saved ${date}`,
            })),
          ]}
          onChange={(id) => {
            const kept = others.find(({ card: one }) => idOf(one) === id);
            if (kept) inBackground(takeCard(kept.card));
          }}
        />
      ) : (
        card && (
          <p>
            Card: <strong>{`${KIND_LABELS[card.kind]} ${card.id}`}</strong>
          </p>
        )
      )}
      <FileTrigger
        acceptedFileTypes={['.json']}
        onSelect={(files) => {
          if (files?.[0]) inBackground(openCardFile(files[0]));
        }}
      >
        <Button className="quiet">Open a card’s data…</Button>
      </FileTrigger>
    </div>
  );
}
