import { useEffect, useRef, useState } from 'react';
import { outlineText } from '../../../image/letters/outline-text.ts';
import { fieldOf } from '../../../piece/fields.ts';
import type { LetterFont, Lettering } from '../../../piece/schema.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { ItemList } from '../../fields/ItemList.tsx';
import { Fault } from '../../fields/TaskProgress.tsx';
import { type Choice, ChoiceControl, NameControl, PairSwitch, ValueControl } from '../../fields/ValueControl.tsx';
import { faultOf } from '../../remote/task.ts';
import { usePieceStore } from '../../store/piece-store.ts';

type Text = Extract<Lettering, { kind: 'text' }>;

type Border = Extract<Lettering, { kind: 'border' }>;

const FONTS: readonly Choice<LetterFont>[] = [
  { id: 'fraunces', label: 'Fraunces', note: 'Soft and strong; holds on coarse rows.' },
  { id: 'eb-garamond', label: 'EB Garamond', note: 'A book’s letters; fine at 8 mm and more.' },
  { id: 'public-sans', label: 'Public Sans', note: 'Plain; the smallest that stays legible.' },
  { id: 'great-vibes', label: 'Great Vibes', note: 'Script; thin strokes want 15 mm and more.' },
];

const MOST_LINES = 12;

const MOST_BORDERS = 6;

/** Lines of text and borders, burned with the picture: beside it, over it or along the rim. */
export function LetteringControls() {
  const lettering = usePieceStore((state) => state.piece.picture.lettering);
  const hasCoats = usePieceStore((state) => state.piece.stack.coats.length > 0);
  const isOblong = usePieceStore((state) => state.piece.slab.shape === 'rectangle');
  const heightMm = usePieceStore((state) => state.piece.slab.heightMm);
  const change = usePieceStore((state) => state.change);
  const texts = lettering.filter((one): one is Text => one.kind === 'text');
  const borders = lettering.filter((one): one is Border => one.kind === 'border');
  const edit = (next: readonly Lettering[]) =>
    change((piece) => ({ ...piece, picture: { ...piece.picture, lettering: [...next] } }));
  // Burning lightens painted wood and darkens bare wood.
  const tone = hasCoats ? 1 : 0;
  return (
    <>
      <ItemList
        items={texts}
        most={MOST_LINES}
        noun="line of text"
        none="No lettering: a name, a date, a line under the picture."
        summary={({ text }) => text || 'empty'}
        create={(): Text => ({
          kind: 'text',
          text: '',
          font: 'fraunces',
          letters: [],
          capEm: 0.7,
          capMm: 8,
          spacing: 0.05,
          tone,
          place: isOblong
            ? { along: 'line', xMm: 0, yMm: Math.round(heightMm / 2 - 8), turnRad: 0 }
            : { along: 'rim', rimMm: 14, aroundRad: 0 },
        })}
        onChange={(next) => edit([...next, ...borders])}
      >
        {(line, _, onChange) => <TextControls line={line} onChange={onChange} />}
      </ItemList>
      <ItemList
        items={borders}
        most={MOST_BORDERS}
        noun="border"
        none="No border."
        summary={({ follows }) => (follows === 'rim' ? 'along the rim' : 'round the picture')}
        create={(): Border => ({ kind: 'border', follows: 'rim', distanceMm: 8, lineMm: 1.5, tone })}
        onChange={(next) => edit([...texts, ...next])}
      >
        {(border, _, onChange) => <BorderControls border={border} onChange={onChange} />}
      </ItemList>
    </>
  );
}

interface TextControlsProps {
  line: Text;
  onChange: (part: Partial<Text>) => void;
}

function TextControls({ line, onChange }: TextControlsProps) {
  const { place } = line;
  const [typed, setTyped] = useState(line.text);
  const [fault, setFault] = useState<string | null>(null);
  const latest = useRef(0);
  const put = useRef(onChange);
  useEffect(() => {
    put.current = onChange;
  });
  /** Text, font and outlines change together: what is burned is what is read. */
  const draw = (text: string, font: LetterFont) => {
    setTyped(text);
    latest.current++;
    const turn = latest.current;
    inBackground(
      outlineText(text, font).then(
        (drawn) => {
          if (latest.current !== turn) return;
          setFault(null);
          put.current({ text, font, ...drawn });
        },
        (error: unknown) => latest.current === turn && setFault(faultOf(error)),
      ),
    );
  };
  return (
    <>
      <NameControl label="Text" value={typed} onChange={(text) => draw(text, line.font)} />
      <Fault words={fault} />
      <ChoiceControl label="Font" value={line.font} choices={FONTS} onChange={(font) => draw(typed, font)} />
      <ValueControl
        of={fieldOf('picture.lettering.0.capMm')}
        hint="Thin strokes vanish where they are narrower than two rows."
        value={line.capMm}
        onChange={(capMm) => onChange({ capMm })}
      />
      <ToneOfLetters tone={line.tone} onChange={(tone) => onChange({ tone })} />
      <PairSwitch
        label="Runs"
        value={place.along}
        options={[
          { id: 'rim', label: 'Along the rim' },
          { id: 'line', label: 'Straight' },
        ]}
        onChange={(along) =>
          onChange({
            place: along === 'rim' ? { along, rimMm: 14, aroundRad: 0 } : { along, xMm: 0, yMm: 0, turnRad: 0 },
          })
        }
      />
      {place.along === 'rim' ? (
        <>
          <ValueControl
            of={fieldOf('picture.lettering.0.place.rimMm')}
            hint="Margin between the letters and the rim, bark included."
            value={place.rimMm}
            onChange={(rimMm) => onChange({ place: { ...place, rimMm } })}
          />
          <ValueControl
            of={fieldOf('picture.lettering.0.place.aroundRad')}
            hint="0 is the foot of the slab, 180 its head; it always reads from left to right."
            value={place.aroundRad}
            onChange={(aroundRad) => onChange({ place: { ...place, aroundRad } })}
          />
        </>
      ) : (
        <>
          <ValueControl
            of={fieldOf('picture.lettering.0.place.xMm')}
            hint="Middle of the line from the slab’s middle."
            value={place.xMm}
            onChange={(xMm) => onChange({ place: { ...place, xMm } })}
          />
          <ValueControl
            of={fieldOf('picture.lettering.0.place.yMm')}
            hint="Feet of the letters from the slab’s middle."
            value={place.yMm}
            onChange={(yMm) => onChange({ place: { ...place, yMm } })}
          />
          <ValueControl
            of={fieldOf('picture.lettering.0.place.turnRad')}
            hint="Counter-clockwise, about the line’s middle."
            value={place.turnRad}
            onChange={(turnRad) => onChange({ place: { ...place, turnRad } })}
          />
        </>
      )}
      <ValueControl
        of={fieldOf('picture.lettering.0.spacing')}
        hint="Opens capitals; 0 is as the font has it."
        value={line.spacing}
        onChange={(spacing) => onChange({ spacing })}
      />
    </>
  );
}

const ToneOfLetters = ({ tone, onChange }: { tone: number; onChange: (tone: number) => void }) => (
  <ValueControl
    of={fieldOf('picture.lettering.0.tone')}
    hint="100 % is the lightest that the picture has, 0 % its darkest."
    value={tone}
    onChange={onChange}
  />
);

function BorderControls({ border, onChange }: { border: Border; onChange: (part: Partial<Border>) => void }) {
  return (
    <>
      <PairSwitch
        label="Follows"
        value={border.follows}
        options={[
          { id: 'rim', label: 'The rim' },
          { id: 'picture', label: 'The picture' },
        ]}
        onChange={(follows) => onChange({ follows })}
      />
      <ValueControl
        of={fieldOf('picture.lettering.0.distanceMm')}
        hint={
          border.follows === 'rim'
            ? 'From the rim inwards; bark takes some 5 mm of it.'
            : 'From the picture’s edge outwards.'
        }
        value={border.distanceMm}
        onChange={(distanceMm) => onChange({ distanceMm })}
      />
      <ValueControl
        of={fieldOf('picture.lettering.0.lineMm')}
        hint="Two rows or more stay an even line."
        value={border.lineMm}
        onChange={(lineMm) => onChange({ lineMm })}
      />
      <ToneOfLetters tone={border.tone} onChange={(tone) => onChange({ tone })} />
    </>
  );
}
