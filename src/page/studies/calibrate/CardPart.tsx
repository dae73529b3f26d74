import { Button } from 'react-aria-components';
import { CAUTION_CLOSE, CAUTIONS } from '../../../base/cautions.ts';
import { labToHex } from '../../../base/color/lab.ts';
import {
  type Card,
  type CardBox,
  codeBits,
  codeBox,
  MARK_INSIDE_MM,
  MARK_MIDDLE_MM,
  MARK_MM,
  markCentres,
} from '../../../vision/card/card.ts';
import { CARD_PREPARATION } from '../../../vision/card/card-piece.ts';
import { CARD_QUANTITIES, type CardWish } from '../../../vision/card/make-card.ts';
import { labelBox, vernierTeeth } from '../../../vision/card/picture.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { BriefCautions } from '../../fields/BriefCautions.tsx';
import { More } from '../../fields/SheetDialog.tsx';
import { ChoiceControl, SwitchControl, ValueControl } from '../../fields/ValueControl.tsx';
import {
  cardDrawing,
  KIND_LABELS,
  KIND_NOTES,
  KINDS,
  showPart,
  useCalibrateStore,
  worthWords,
} from './calibrate-store.ts';
import { chooseCard, saveCardData, saveCardJob, saveCardPiece } from './card-actions.ts';
import type { CardLooks } from './messages.ts';

export function CardPlace() {
  const card = useCalibrateStore((state) => state.card);
  const looks = useCalibrateStore((state) => state.looks);
  const fault = cardDrawing.use((state) => state.fault);
  if (fault) {
    return (
      <div className="calibrate-paper calibrate-empty">
        <h3>No such card</h3>
        <p role="alert">{fault}</p>
      </div>
    );
  }
  if (!card || !looks) return <div className="calibrate-paper calibrate-empty">Drawing the card…</div>;
  const kind = KIND_LABELS[card.kind];
  return (
    <figure className="calibrate-figure">
      <CardPicture card={card} looks={looks} label={`${kind} ${card.id} as it should come out by today’s numbers`} />
      <figcaption>
        {kind} {card.id}, {card.widthMm} × {card.heightMm} mm, as it should come out by today’s numbers.
        {card.patches.length > 0 &&
          ' Patches are shuffled, so that a film thicker on one side is not mistaken for a different paint.'}
      </figcaption>
    </figure>
  );
}

export function CardPanel() {
  const work = useCalibrateStore((state) => state.work);
  const worths = useCalibrateStore((state) => state.worths);
  const card = useCalibrateStore((state) => state.card);
  const cardKept = useCalibrateStore((state) => state.cardKept);
  const { kind, wish } = work;
  const best = worths?.[0];
  const change = (part: Partial<CardWish>) => chooseCard({ wish: { ...wish, ...part } });
  const note = (one: (typeof KINDS)[number]): string => {
    const worth = worths?.find((each) => each.kind === one);
    return worth ? `${KIND_NOTES[one]} Likely ${worthWords(worth.keeps)}.` : KIND_NOTES[one];
  };
  return (
    <>
      <Advice />
      <ChoiceControl
        label="Card"
        value={kind}
        choices={KINDS.map((id) => ({
          id,
          label: id === best?.kind ? `${KIND_LABELS[id]} · shows most` : KIND_LABELS[id],
          note: note(id),
        }))}
        onChange={(next) => chooseCard({ kind: next })}
      />
      <ValueControl
        of={CARD_QUANTITIES.widthMm}
        hint="Of the scrap: painted like the piece, at least as large as a matchbox."
        value={wish.widthMm}
        onChange={(widthMm) => change({ widthMm })}
      />
      <ValueControl
        of={CARD_QUANTITIES.heightMm}
        hint="More room repeats patches, which shows more."
        value={wish.heightMm}
        onChange={(heightMm) => change({ heightMm })}
      />
      <More label="Range and steps" note={wish.powers ? 'by hand' : 'by the numbers'}>
        <RangeControls wish={wish} change={change} />
      </More>
      <div className="calibrate-actions">
        <BriefCautions />
        <Button className="wide sheet-main" isDisabled={!card} onPress={() => inBackground(saveCardJob())}>
          Save the burn job
        </Button>
        <p className="hint">
          One archive: the lap round the scrap, a program for each pass, where to lay it, what to do, and the card’s
          data.
        </p>
        <div className="button-row">
          <Button className="wide" isDisabled={!card} onPress={saveCardData}>
            Card’s data
          </Button>
          <Button className="wide" isDisabled={!card} onPress={() => inBackground(saveCardPiece())}>
            As a piece
          </Button>
        </div>
        <p className="hint">
          {cardKept
            ? 'This card is kept as it was burned; a new choice above makes another one.'
            : 'The data is what the card is read by, here or on another computer.'}
        </p>
      </div>
      <section className="cautions">
        <h3>Before it burns</h3>
        <ul>
          {[...CARD_PREPARATION, ...CAUTIONS].map((text) => (
            <li key={text}>{text}</li>
          ))}
        </ul>
        <p>{CAUTION_CLOSE}</p>
      </section>
      <Button className="wide" onPress={() => showPart('read')}>
        It is burned: read it
      </Button>
    </>
  );
}

/** What tells most on this scrap. */
function Advice() {
  const worths = useCalibrateStore((state) => state.worths);
  const work = useCalibrateStore((state) => state.work);
  if (!worths) return <p className="plain">Working out which card shows most…</p>;
  const [best] = worths;
  if (!best) return <p className="plain">Choose a card; the step wedge is the quickest to read by eye.</p>;
  return (
    <div className="calibrate-advice">
      <p>
        On this scrap the <strong>{KIND_LABELS[best.kind].toLowerCase()}</strong> shows most: read off a photograph it{' '}
        {worthWords(best.keeps)} of this picture’s tones.
      </p>
      {work.kind !== best.kind && (
        <Button className="quiet" onPress={() => chooseCard({ kind: best.kind })}>
          Take the {KIND_LABELS[best.kind].toLowerCase()}
        </Button>
      )}
    </div>
  );
}

function RangeControls({ wish, change }: { wish: CardWish; change: (part: Partial<CardWish>) => void }) {
  const [low, high] = wish.powers ?? [0.1, 0.9];
  return (
    <>
      <SwitchControl
        label="Choose the powers"
        hint="Otherwise they run from nothing to well past what should clear."
        value={wish.powers !== null}
        onChange={(on) => change({ powers: on ? [low, high] : null })}
      />
      {wish.powers && (
        <>
          <ValueControl
            of={CARD_QUANTITIES.weakest}
            hint="Should leave the paint as it is."
            value={low}
            onChange={(power) => change({ powers: [Math.min(power, high - 0.01), high] })}
          />
          <ValueControl
            of={CARD_QUANTITIES.strongest}
            hint="Should begin to scorch."
            value={high}
            onChange={(power) => change({ powers: [low, Math.max(power, low + 0.01)] })}
          />
        </>
      )}
      <ValueControl
        of={CARD_QUANTITIES.steps}
        hint="More steps, smaller between them; two thirds lie where the paint should clear."
        value={wish.steps}
        onChange={(steps) => change({ steps })}
      />
      <ValueControl
        of={CARD_QUANTITIES.patchMm}
        hint="Side of a patch; larger ones are easier to see."
        value={wish.patchMm}
        onChange={(patchMm) => change({ patchMm })}
      />
    </>
  );
}

interface CardPictureProps {
  card: Card;
  looks: CardLooks;
  label: string;
  /** Without the words on it. */
  small?: boolean;
}

/** A card as it should come out, drawn by its numbers. */
export function CardPicture({ card, looks, label, small }: CardPictureProps) {
  const [paint, bare, marks] = [looks.paint, looks.bare, looks.marks].map(labToHex);
  const { widthMm, heightMm, reference } = card;
  const square = (x: number, y: number, side: number, fill: string, key: string) => (
    <rect key={key} x={x - side / 2} y={y - side / 2} width={side} height={side} fill={fill} />
  );
  return (
    <svg className="calibrate-card" viewBox={`0 0 ${widthMm} ${heightMm}`} role="img" aria-label={label}>
      <rect width={widthMm} height={heightMm} rx={1.2} fill={paint} />
      {markCentres(card).map(([x, y]) => (
        <g key={`${x} ${y}`}>
          {square(x, y, MARK_MM, marks, 'ring')}
          {square(x, y, MARK_INSIDE_MM, paint, 'inside')}
          {square(x, y, MARK_MIDDLE_MM, marks, 'middle')}
        </g>
      ))}
      {codeBits(card.kind, card.id).map((bit, i) => {
        const box = codeBox(card, i);
        return bit && <rect key={box.xMm} {...rectOf(box)} fill={marks} />;
      })}
      <rect {...rectOf(reference)} fill={bare} />
      {!small && (
        <text className="calibrate-card-note" x={reference.xMm + 6} y={reference.yMm + reference.heightMm / 2 + 0.7}>
          bare undercoat
        </text>
      )}
      {card.patches.map(({ id, box, label: text }) => (
        <g key={id}>
          <rect {...rectOf(box)} fill={labToHex(looks.patches[id] ?? looks.paint)} />
          <Label box={box} text={text} fill={marks} />
        </g>
      ))}
      {card.lines.map(({ id, box, label: text }) => {
        const wide = Math.max(0.03, looks.lines[id]?.equivalentMm ?? 0);
        return (
          <g key={id}>
            <rect
              x={box.xMm - (box.widthMm === 0 ? wide / 2 : 0)}
              y={box.yMm - (box.heightMm === 0 ? wide / 2 : 0)}
              width={box.widthMm || wide}
              height={box.heightMm || wide}
              fill={marks}
            />
            <Label box={box} text={text} fill={marks} />
          </g>
        );
      })}
      {card.vernier && <Vernier vernier={card.vernier} fill={marks} />}
    </svg>
  );
}

function Label({ box, text, fill }: { box: CardBox; text: string; fill: string }) {
  const { xMm, yMm } = labelBox(text, box);
  return (
    <text className="calibrate-card-label" x={xMm} y={yMm + 2} fill={fill}>
      {text}
    </text>
  );
}

function Vernier({ vernier, fill }: { vernier: NonNullable<Card['vernier']>; fill: string }) {
  const half = vernier.box.heightMm / 2;
  return vernierTeeth(vernier).map(({ forwardMm, backwardMm }) => (
    <g key={forwardMm} fill={fill}>
      <rect x={forwardMm - 0.1} y={vernier.box.yMm} width={0.2} height={half} />
      <rect x={backwardMm - 0.1} y={vernier.box.yMm + half} width={0.2} height={half} />
    </g>
  ));
}

const rectOf = ({ xMm, yMm, widthMm, heightMm }: CardBox) => ({ x: xMm, y: yMm, width: widthMm, height: heightMm });
