import { labToHex } from '../../../base/color/lab.ts';
import type { Card, CardBox } from '../../../vision/card/card.ts';
import {
  codeBits,
  codeBox,
  MARK_INSIDE_MM,
  MARK_MIDDLE_MM,
  MARK_MM,
  markCentres,
} from '../../../vision/card/geometry.ts';
import { labelBox, vernierTeeth } from '../../../vision/card/picture.ts';
import type { CardLooks } from './messages.ts';

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
    <svg className="cal-card" viewBox={`0 0 ${widthMm} ${heightMm}`} role="img" aria-label={label}>
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
        <text className="cal-card-note" x={reference.xMm + 6} y={reference.yMm + reference.heightMm / 2 + 0.7}>
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
    <text className="cal-card-label" x={xMm} y={yMm + 2} fill={fill}>
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
