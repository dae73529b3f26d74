import { useState } from 'react';
import { Button } from 'react-aria-components';
import { quantity, wholeQuantity } from '../../base/quantity.ts';
import { letteringOutlines } from '../../burn/lettering.ts';
import { zeroOnBed } from '../../outputs/program/frame.ts';
import type { JobRefusal } from '../../outputs/program/refusals.ts';
import { type BrokeOff, type TakeUp, takeUpSentences } from '../../outputs/program/take-up.ts';
import { picturePerimeter, slabPerimeter, slabToBed } from '../../physics/bed/bed.ts';
import { burnFrame } from '../../piece/frame.ts';
import type { Piece } from '../../piece/schema.ts';
import { ask } from '../burn/proof-remote.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { Fault } from '../fields/TaskProgress.tsx';
import { ChoiceControl, ValueControl } from '../fields/ValueControl.tsx';
import { useTask } from '../remote/task.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { FileButton } from './PaperButtons.tsx';
import { Refusals } from './Refusals.tsx';
import type { MachineFiles } from './use-machine-files.ts';

const SECONDS_PER_MINUTE = 60;

const HOW = [
  { id: 'row', label: 'its number', note: 'Counted from 1, from where the burn begins.' },
  { id: 'minute', label: 'the minutes it had burned', note: 'From the first row of this pass.' },
  { id: 'place', label: 'where the head stood', note: 'X and Y as the controller shows them.' },
] as const;

const FIRST_ROW = wholeQuantity(1, 100000, {
  label: 'First row to burn',
  unit: '',
  step: 1,
  digits: 0,
  sliderHigh: 1000,
});

const BURNED_FOR = quantity(0, 10000, { label: 'Burned for', unit: 'min', step: 1, digits: 2, sliderHigh: 180 });

const HEAD_AT = ['X', 'Y'].map((axis) =>
  quantity(-5000, 5000, { label: `Head at ${axis}`, unit: 'mm', step: 0.1, digits: 2, sliderLow: 0, sliderHigh: 500 }),
);

const PAUSE = quantity(0, 10000, { label: 'Length of the pause', unit: 'min', step: 1, digits: 2, sliderHigh: 240 });

type Answer = { readonly piece: Piece } & (
  | { readonly found: TakeUp; readonly pass: number }
  | { readonly refusals: readonly JobRefusal[] }
);

/** A burn that a power cut or a jam broke off: finds the row to go on from and makes the program from there. */
export function TakeUpBurn({ files, isDisabled }: { readonly files: MachineFiles; readonly isDisabled: boolean }) {
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const [pass, setPass] = useState(0);
  const [how, setHow] = useState<BrokeOff['kind']>('row');
  const [row, setRow] = useState(1);
  const [minute, setMinute] = useState(0);
  const [place, setPlace] = useState<readonly [number, number]>([0, 0]);
  const [pauseMin, setPause] = useState(30);
  const [answer, setAnswer] = useState<Answer | null>(null);
  const task = useTask();
  const busy = task.use((state) => state.busy);
  const fault = task.use((state) => state.fault);
  const index = Math.min(pass, piece.passes.length - 1);

  const find = async () => {
    if (!photo) return;
    const at: BrokeOff =
      how === 'row'
        ? { kind: 'row', row }
        : how === 'minute'
          ? { kind: 'minute', minute }
          : { kind: 'place', xMm: place[0], yMm: place[1] };
    const asks = { piece, photoKey: photo.key, pass: index, at, pauseS: pauseMin * SECONDS_PER_MINUTE };
    setAnswer(null);
    await task.run('Working out the rows and their heat', async ({ signal }) => {
      const gets = await ask('take-up', asks, { signal });
      setAnswer('refusals' in gets ? { ...gets, piece } : { found: gets, pass: index, piece });
    });
  };

  // What was found for another piece does not hold for this one.
  const found = answer?.piece === piece && 'found' in answer ? answer : null;
  const refusals = answer?.piece === piece && 'refusals' in answer ? answer.refusals : null;
  return (
    <>
      <p className="plain">
        After a power cut or a jam: leave the slab clamped and the beam off, and look for the last whole row. The
        program goes on with the row after it, with the same dots.
      </p>
      {piece.passes.length > 1 && (
        <ChoiceControl
          label="Pass that broke off"
          value={String(index)}
          onChange={(id) => setPass(Number(id))}
          choices={piece.passes.map((_, i) => ({ id: String(i), label: `Pass ${i + 1}` }))}
        />
      )}
      <ChoiceControl label="Find the row by" value={how} onChange={setHow} choices={HOW} />
      {how === 'row' && (
        <ValueControl of={FIRST_ROW} hint="The one after the last whole row." value={row} onChange={setRow} />
      )}
      {how === 'minute' && (
        <ValueControl
          of={BURNED_FOR}
          hint="The row that is under the head then is burned again from its start."
          value={minute}
          onChange={setMinute}
        />
      )}
      {how === 'place' &&
        HEAD_AT.map((axis, i) => (
          <ValueControl
            key={axis.label}
            of={axis}
            hint="As the controller shows it."
            value={place[i]}
            onChange={(value) => setPlace(i === 0 ? [value, place[1]] : [place[0], value])}
          />
        ))}
      <ValueControl
        of={PAUSE}
        hint="The wood cools meanwhile, so the next rows take off a little less."
        value={pauseMin}
        onChange={setPause}
      />
      <div className="button-pair">
        <Button isDisabled={isDisabled || busy !== null} onPress={() => inBackground(find())}>
          Find the row
        </Button>
        {busy && (
          <Button className="quiet" onPress={task.stop}>
            Stop
          </Button>
        )}
      </div>
      <div className="take-up-words" role="status">
        {busy && <p className="hint">{busy}…</p>}
        {found &&
          takeUpSentences(found.found).map((sentence) => (
            <p className="plain" key={sentence}>
              {sentence}
            </p>
          ))}
      </div>
      {found && photo && (
        <>
          <TakeUpPlace piece={piece} photo={photo} found={found.found} zero={zeroOnBed(piece)} />
          <FileButton
            label={`Save the program from row ${found.found.row}`}
            file={{ kind: 'pass', index: found.pass, fromRow: found.found.row }}
            files={files}
            isDisabled={isDisabled}
          />
        </>
      )}
      {refusals && <Refusals refusals={refusals} />}
      <Fault words={fault} />
    </>
  );
}

interface TakeUpPlaceProps {
  readonly piece: Piece;
  readonly photo: { readonly width: number; readonly height: number };
  readonly found: TakeUp;
  /** Place on the bed that the program's positions count from, mm. */
  readonly zero: readonly [number, number];
}

/** The slab as it lies on the bed, with the row from which the burn goes on. */
function TakeUpPlace({ piece, photo, found, zero }: TakeUpPlaceProps) {
  const onPaper = (places: readonly (readonly [number, number])[]) =>
    places.map(([x, y]) => `${x.toFixed(2)},${(-y).toFixed(2)}`).join(' ');
  const slab = slabPerimeter(piece.slab).map((place) => slabToBed(piece.placement, place));
  const picture = picturePerimeter(piece.slab, piece.picture, photo).map((place) => slabToBed(piece.placement, place));
  const letters = letteringOutlines(piece, photo)
    .flat(1)
    .map((outline) => `M${onPaper(outline.map((place) => slabToBed(piece.placement, place)))}Z`);
  const [left, right] = [Math.min(...slab.map(([x]) => x)), Math.max(...slab.map(([x]) => x))];
  const [near, far] = [Math.min(...slab.map(([, y]) => y)), Math.max(...slab.map(([, y]) => y))];
  const row = [found.from, found.to].map(([x, y]) => [x + zero[0], y + zero[1]] as const);
  const margin = 0.03 * (right - left);
  const box = [left - margin, -far - margin, right - left + 2 * margin, far - near + 2 * margin];
  const { heightMm } = burnFrame(piece, photo);
  return (
    <svg
      className="take-up-place"
      viewBox={box.map((value) => value.toFixed(2)).join(' ')}
      role="img"
      aria-label={`Row ${found.row} on the slab, ${found.fromEdgeMm.toFixed(1)} mm into a picture ${heightMm.toFixed(1)} mm high`}
    >
      <polygon className="slab" points={onPaper(slab)} />
      <polygon className="picture" points={onPaper(picture)} />
      {letters.length > 0 && <path className="letters" d={letters.join('')} />}
      <polyline className="row" points={onPaper(row)} />
    </svg>
  );
}
