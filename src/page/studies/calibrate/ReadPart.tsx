import { useState } from 'react';
import { Button, Input, Label, NumberField, ToggleButton, ToggleButtonGroup } from 'react-aria-components';
import { labToHex } from '../../../base/color/lab.ts';
import { applyHomography, fitHomography } from '../../../base/geometry/homography.ts';
import type { Point } from '../../../base/geometry/outline.ts';
import { quantity } from '../../../base/quantity.ts';
import { type Card, type CardLine, markCentres, powerOf } from '../../../vision/card/card.ts';
import type { CardReading } from '../../../vision/card/reading.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { OpenButton, PhotoDrop } from '../../fields/OpenButton.tsx';
import { ChoiceControl, PairSwitch, ValueControl } from '../../fields/ValueControl.tsx';
import { PHOTO_TYPES } from '../../store/files.ts';
import { Handle, Sheet } from '../../vision/slab/Sheet.tsx';
import { CardPicture } from './CardPart.tsx';
import {
  type CardPhoto,
  calibrating,
  editWork,
  KIND_LABELS,
  setCalibrate,
  showPart,
  useCalibrateStore,
} from './calibrate-store.ts';
import {
  keepNotes,
  moveCorner,
  openCardFile,
  openCardPhoto,
  placeCorners,
  readAgain,
  takeCard,
} from './card-actions.ts';
import type { CardLooks } from './messages.ts';
import { ReadingList } from './ReadingList.tsx';
import '../../vision/slab/slab-photo.css';

const CHIP_LIGHTNESS = quantity(20, 98, { label: 'Chip’s lightness', unit: 'L*', step: 0.5, digits: 1 });

export function ReadPlace() {
  const card = useCalibrateStore((state) => state.card);
  const looks = useCalibrateStore((state) => state.looks);
  const how = useCalibrateStore((state) => state.how);
  if (!card || !looks) {
    return (
      <div className="calibrate-paper calibrate-empty">
        <h3>Which card?</h3>
        <p>Choose one that was saved here, or open its data file.</p>
      </div>
    );
  }
  return how === 'eye' ? <EyePlace card={card} looks={looks} /> : <PhotoPlace card={card} looks={looks} />;
}

export function ReadPanel() {
  const card = useCalibrateStore((state) => state.card);
  const how = useCalibrateStore((state) => state.how);
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
        onChange={(next) => {
          calibrating.tell({ fault: null, said: null });
          setCalibrate({ how: next });
        }}
      />
      {card && (how === 'eye' ? <EyePanel card={card} /> : <PhotoPanel card={card} />)}
    </>
  );
}

/** The card that was burned: the one on the sheet, one kept in this browser, or one from its file. */
function WhichCard() {
  const card = useCalibrateStore((state) => state.card);
  const cards = useCalibrateStore((state) => state.cards);
  const idOf = (one: NonNullable<typeof card>) => `${one.kind} ${one.id}`;
  const others = cards.filter((kept) => !card || idOf(kept.card) !== idOf(card));
  return (
    <div className="calibrate-which">
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
      <OpenButton types={['.json']} className="quiet" onFile={openCardFile}>
        Open a card’s data…
      </OpenButton>
    </div>
  );
}

function EyePanel({ card }: { card: Card }) {
  const { notes } = useCalibrateStore((state) => state.work);
  if (card.kind === 'tones') {
    return <p className="plain">A tone card is read off a photograph: an eye cannot put a figure on a tone.</p>;
  }
  const seen = Object.entries(notes.ladders).flatMap(([name, { shows, clears, scorches }]) => {
    const parts = [
      shows !== null && `shows from ${shows}`,
      clears !== null && `clears from ${clears}`,
      scorches !== null && `scorches from ${scorches}`,
    ].filter(Boolean);
    return parts.length > 0 ? [`${card.ladders.length > 1 ? `${name}: ` : ''}${parts.join(', ')}`] : [];
  });
  const widths = Object.keys(notes.widths).length;
  if (widths > 0) seen.push(`${widths} ${widths === 1 ? 'width' : 'widths'}`);
  if (notes.pair !== null) seen.push(`pair ${notes.pair} lines up`);
  return (
    <>
      <p className="plain">
        {seen.length > 0
          ? `You see: ${seen.join('; ')}.`
          : 'Nothing chosen yet. An eye sees less than a photograph, but enough to begin with.'}
      </p>
      <Button
        className="wide sheet-main"
        isDisabled={seen.length === 0}
        onPress={() => {
          if (keepNotes()) setCalibrate({ part: 'fit' });
        }}
      >
        Keep this reading
      </Button>
      <ReadingList />
    </>
  );
}

/** Lightness of a grey card of 18 % reflectance. */
const GREY = 49.5;

function PhotoPanel({ card }: { card: Card }) {
  const photo = useCalibrateStore((state) => state.photo);
  const chipLightness = useCalibrateStore((state) => state.chipLightness);
  const work = useCalibrateStore((state) => state.work);
  const read = work.readings.find(({ card: one, reading }) => one.id === card.id && reading.how === 'photo');
  return (
    <>
      <OpenButton types={PHOTO_TYPES} className={photo ? 'wide' : 'wide sheet-main'} onFile={openCardPhoto}>
        {photo ? 'Another photograph…' : 'Open a photograph…'}
      </OpenButton>
      <PairSwitch
        label="Judge by"
        value={chipLightness === null ? 'bare' : 'chip'}
        options={[
          { id: 'bare', label: 'Bare undercoat' },
          { id: 'chip', label: 'Grey chip' },
        ]}
        onChange={(id) => setCalibrate({ chipLightness: id === 'bare' ? null : GREY })}
        hint="What lies in the middle below. Colours are measured against it, whatever the light of the room."
      />
      {chipLightness !== null && (
        <ValueControl
          of={CHIP_LIGHTNESS}
          hint="L* of a neutral chip lying there; 49.5 is a grey card of 18 %."
          value={chipLightness}
          onChange={(value) => setCalibrate({ chipLightness: value })}
        />
      )}
      {photo && (
        <div className="button-row">
          <Button
            className="wide"
            onPress={() => (photo.corners ? inBackground(readAgain()) : placeCorners(photo, card))}
          >
            {photo.corners ? 'Read again' : 'Set the corners'}
          </Button>
          <Button className="wide sheet-main" isDisabled={!read} onPress={() => showPart('fit')}>
            Go on to the fit
          </Button>
        </div>
      )}
      {photo?.byHand && <p className="hint">Corners moved by hand: “Read again” goes by them.</p>}
      {read && <PatchTable card={card} reading={read.reading} />}
      <ReadingList />
    </>
  );
}

/** What was read beside what was expected. */
function PatchTable({ card, reading }: { card: Card; reading: CardReading }) {
  const looks = useCalibrateStore((state) => state.looks);
  const patches = reading.patches
    .map((seen) => ({ seen, patch: card.patches.find(({ id }) => id === seen.id) }))
    .sort((a, b) => Number(a.patch?.label) - Number(b.patch?.label));
  return (
    <div className="calibrate-patches">
      {patches.length > 0 && (
        <table>
          <caption>
            {patches.length} of {card.patches.length} patches, lightness L*
          </caption>
          <thead>
            <tr>
              <th scope="col">Patch</th>
              <th scope="col">Power</th>
              <th scope="col">Read</th>
              <th scope="col">Expected</th>
            </tr>
          </thead>
          <tbody>
            {patches.map(({ seen, patch }) => {
              const expected = looks?.patches[seen.id];
              return (
                <tr key={seen.id}>
                  <th scope="row">{patch?.label}</th>
                  <td>{patch && (100 * powerOf(patch.burns[patch.burns.length - 1])).toFixed(0)} %</td>
                  <td>
                    <i style={{ background: labToHex(seen.lab) }} />
                    {seen.lab[0].toFixed(1)}
                  </td>
                  <td>
                    {expected && (
                      <>
                        <i style={{ background: labToHex(expected) }} />
                        {expected[0].toFixed(1)}
                      </>
                    )}
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      )}
      {reading.lines.length > 0 && (
        <table>
          <caption>Widths of {reading.lines.length} lines, mm</caption>
          <thead>
            <tr>
              <th scope="col">Line</th>
              <th scope="col">Read</th>
              <th scope="col">Expected</th>
            </tr>
          </thead>
          <tbody>
            {reading.lines.map(({ id, widthMm }) => (
              <tr key={id}>
                <th scope="row">{id}</th>
                <td>{widthMm.toFixed(3)}</td>
                <td>{looks?.lines[id]?.equivalentMm.toFixed(3)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {reading.rowOffset && (
        <p className="plain">Rows burned backwards land {reading.rowOffset.mm.toFixed(2)} mm off.</p>
      )}
    </div>
  );
}

const GROUPS: readonly { start: string; title: string; name: (line: CardLine) => string }[] = [
  { start: 'a', title: 'Along the rows', name: ({ label }) => `Line ${label}` },
  { start: 'c', title: 'Across the rows', name: ({ label }) => `Across ${label}` },
  { start: 'f', title: 'At heights of focus', name: ({ label }) => `Focus ${label} mm` },
];

/** Widths of lines as a loupe tells them, and the pair of strokes that lines up. */
function LineWidths({ card, looks }: { card: Card; looks: CardLooks }) {
  const { notes } = useCalibrateStore((state) => state.work);
  const setWidth = (id: string, mm: number) => {
    const { [id]: _, ...others } = notes.widths;
    editWork({ notes: { ...notes, widths: Number.isFinite(mm) ? { ...others, [id]: mm } : others } });
  };
  return (
    <div className="calibrate-paper calibrate-eye">
      <div className="calibrate-eye-head">
        <h3>How wide are the lines?</h3>
        <p>
          With a loupe and a scale of tenths, in mm. 0 for a line that does not show; leave out what you cannot tell.
        </p>
      </div>
      <div className="calibrate-lines">
        {GROUPS.map(({ start, title, name }) => {
          const lines = card.lines.filter(({ id }) => id.startsWith(start));
          return (
            lines.length > 0 && (
              <section key={start} aria-label={title}>
                <h4>{title}</h4>
                {lines.map((line) => (
                  <NumberField
                    key={line.id}
                    className="calibrate-width"
                    value={notes.widths[line.id] ?? Number.NaN}
                    minValue={0}
                    maxValue={5}
                    formatOptions={{ maximumFractionDigits: 3 }}
                    onChange={(mm) => setWidth(line.id, mm)}
                  >
                    <Label>
                      {name(line)} <small>{(100 * powerOf(line.burn)).toFixed(0)} %</small>
                    </Label>
                    <Input placeholder={(looks.lines[line.id]?.edgeMm ?? 0).toFixed(2)} />
                  </NumberField>
                ))}
              </section>
            )
          );
        })}
        {card.vernier && (
          <section aria-label="Two-way rows">
            <h4>Two-way rows</h4>
            <NumberField
              className="calibrate-width"
              value={notes.pair ?? Number.NaN}
              minValue={1}
              maxValue={card.vernier.teeth}
              onChange={(pair) =>
                editWork({ notes: { ...notes, pair: Number.isFinite(pair) ? Math.round(pair) : null } })
              }
            >
              <Label>Pair that lines up</Label>
              <Input placeholder={String((card.vernier.teeth + 1) / 2)} />
            </NumberField>
            <p className="hint">Counted from the left, 1 to {card.vernier.teeth}.</p>
          </section>
        )}
      </div>
      <figure className="calibrate-eye-card">
        <CardPicture card={card} looks={looks} label="Where the lines lie on the card" small />
        <figcaption>Grey figures are what today’s numbers expect.</figcaption>
      </figure>
    </div>
  );
}

type What = 'shows' | 'clears' | 'scorches';

const QUESTIONS: readonly { what: What; label: string; note: string }[] = [
  { what: 'shows', label: 'First that shows', note: 'the weakest patch that stands out from the paint' },
  { what: 'clears', label: 'First that clears', note: 'no dark residue left, also under a lamp from the side' },
  { what: 'scorches', label: 'First that scorches', note: 'the undercoat turns yellow or brown' },
];

const NOTHING = { shows: null, clears: null, scorches: null };

/** The rows of patches in the order of their labels, to be clicked; or the lines to be measured. */
function EyePlace({ card, looks }: { card: Card; looks: CardLooks }) {
  const { notes } = useCalibrateStore((state) => state.work);
  const [row, setRow] = useState('');
  if (card.ladders.length === 0) return <LineWidths card={card} looks={looks} />;
  const ladder = card.ladders.find(({ name }) => name === row) ?? card.ladders[0];
  const seen = notes.ladders[ladder.name] ?? NOTHING;
  const steps = ladder.patches.map((id) => card.patches.find((patch) => patch.id === id)!);
  const choose = (what: What, label: number | null) =>
    editWork({ notes: { ...notes, ladders: { ...notes.ladders, [ladder.name]: { ...seen, [what]: label } } } });
  return (
    <div className="calibrate-paper calibrate-eye">
      <div className="calibrate-eye-head">
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
        <div key={what} className="calibrate-question">
          <p>
            <strong>{label}</strong> <span>{note}</span>
          </p>
          <ToggleButtonGroup
            aria-label={label}
            className="calibrate-steps"
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
                  className="calibrate-step"
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
      <figure className="calibrate-eye-card">
        <CardPicture card={card} looks={looks} label="Where the patches lie on the card" small />
        <figcaption>Colours are what today’s numbers expect; go by what you see on the wood.</figcaption>
      </figure>
    </div>
  );
}

const CORNERS = ['left top', 'right top', 'right bottom', 'left bottom'];

/** The photograph with the card's corners on it. */
function PhotoPlace({ card }: { card: Card; looks: CardLooks }) {
  const photo = useCalibrateStore((state) => state.photo);
  return (
    <PhotoDrop className="calibrate-drop" of={calibrating} onPhoto={openCardPhoto}>
      {photo ? <Marked photo={photo} card={card} /> : <Empty />}
    </PhotoDrop>
  );
}

function Marked({ photo, card }: { photo: CardPhoto; card: Card }) {
  const { width, height } = photo.bitmap;
  const view = { left: 0, top: 0, right: width, bottom: height };
  return (
    <Sheet label="The photograph of the card" view={view} picture={{ bitmap: photo.bitmap, quarters: 0, box: view }}>
      {photo.corners && (
        <>
          <svg className="photo-lines" viewBox={`0 0 ${width} ${height}`} aria-hidden="true">
            {outlines(photo.corners, card).map((points) => (
              <g key={points}>
                <polygon className="photo-line-under calibrate-thin" points={points} />
                <polygon className="photo-line calibrate-thin" points={points} />
              </g>
            ))}
          </svg>
          {photo.corners.map((corner, i) => (
            <Handle
              key={CORNERS[i]}
              label={`Corner mark, ${CORNERS[i]}`}
              at={corner}
              view={view}
              place={`${corner.map((px) => px.toFixed(0)).join(' across, ')} down`}
              step={1}
              shiftStep={10}
              onMove={(to) => moveCorner(photo, i, to)}
            />
          ))}
        </>
      )}
    </Sheet>
  );
}

/** The card's frame and its patches as they lie in the photo by the corners. */
function outlines(corners: readonly Point[], card: Card): string[] {
  try {
    const map = fitHomography(
      markCentres(card).map(([x, y]): Point => [x, y]),
      corners,
    );
    const at = (x: number, y: number) => (applyHomography(map, [x, y]) ?? [0, 0]).map((px) => px.toFixed(1)).join(',');
    const boxes = [
      { xMm: 0, yMm: 0, widthMm: card.widthMm, heightMm: card.heightMm },
      ...card.patches.map(({ box }) => box),
    ];
    return boxes.map(({ xMm: x, yMm: y, widthMm: w, heightMm: h }) =>
      [at(x, y), at(x + w, y), at(x + w, y + h), at(x, y + h)].join(' '),
    );
  } catch {
    return [];
  }
}

const Empty = () => (
  <div className="calibrate-paper calibrate-empty">
    <h3>Photograph the card from straight above</h3>
    <p>
      So that it fills most of the picture, in focus, in shade or by a window, without flash and glare. All four corner
      marks must be seen. A scan does as well.
    </p>
    <p>Open the photograph, or drop it here. It stays on this computer.</p>
  </div>
);
