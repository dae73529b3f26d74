import { Button } from 'react-aria-components';
import { inBackground } from '../../faults/tell-fault.ts';
import { SwitchControl } from '../../fields/SwitchControl.tsx';
import { usePieceStore } from '../../store/piece-store.ts';
import { BandPair } from './BandPair.tsx';
import { type FitRecord, setCalibrate, useCalibrate } from './calibrate-store.ts';
import { applyNumbers, fitReadings, freshReadings, standingOf } from './fit-actions.ts';
import { ReadingList } from './ReadingList.tsx';
import { SlabEvidence } from './SlabEvidence.tsx';

export function FitPanel() {
  const { work, filmMeasured, changes, record } = useCalibrate();
  const piece = usePieceStore((state) => state.piece);
  const fresh = freshReadings(work.readings, piece).length;
  const calibrated = piece.certainty.source === 'calibrated';
  return (
    <>
      {work.readings.length === 0 && (
        <>
          <p className="plain">There is no reading yet. Read a card first, or say how a finished slab came out.</p>
          <Button className="wide sheet-main" onPress={() => setCalibrate({ part: 'read' })}>
            Read a card
          </Button>
        </>
      )}
      <ReadingList />
      {work.readings.length > 0 && (
        <>
          <SwitchControl
            label="The film was measured"
            hint="Thickness of the top coat stays as the piece has it, and the rest can be told better."
            value={filmMeasured}
            onChange={(on) => setCalibrate({ filmMeasured: on, record: null })}
          />
          {calibrated && (
            <>
              <SwitchControl
                label="Another tin of paint since"
                hint="What earlier cards said of the coats weighs less."
                value={changes.batch}
                onChange={(batch) => setCalibrate({ changes: { ...changes, batch }, record: null })}
              />
              <SwitchControl
                label="Machine cleaned or serviced since"
                hint="What earlier cards said of the beam weighs less."
                value={changes.machine}
                onChange={(machine) => setCalibrate({ changes: { ...changes, machine }, record: null })}
              />
            </>
          )}
          <Button
            className={record ? 'wide' : 'wide sheet-main'}
            isDisabled={fresh === 0}
            onPress={() => inBackground(fitReadings())}
          >
            {fresh > 1 ? `Fit to ${fresh} readings` : 'Fit'}
          </Button>
          {fresh === 0 && (
            <p className="hint">All of these are in the numbers already; counted twice they would look too sure.</p>
          )}
        </>
      )}
      {record && <Outcome record={record} />}
      <SlabEvidence />
    </>
  );
}

function Outcome({ record }: { record: FitRecord }) {
  const { fit, bands } = record;
  const standing = usePieceStore((state) => standingOf(record, state.piece));
  return (
    <>
      {bands && <BandPair before={bands.before} after={bands.after} />}
      {!fit.settled && (
        <p className="warning">The fit did not come to rest; look at the readings before you use its numbers.</p>
      )}
      {standing === 'in use' ? (
        <Button className="wide sheet-main" onPress={() => setCalibrate({ part: 'shelf', said: null })}>
          Put it on the shelf
        </Button>
      ) : (
        <Button className="wide sheet-main" isDisabled={standing === 'stale'} onPress={() => applyNumbers(record)}>
          Use these numbers
        </Button>
      )}
      {standing === 'stale' && <p className="hint">Coats or machine have been changed since; fit again.</p>}
      {fit.untold.length > 0 && (
        <section className="cal-cannot" aria-label="What stays open">
          <h3>What stays open</h3>
          <ul>
            {untoldLines(fit).map(({ helps, what }) => (
              <li key={helps}>
                {what} <span>What would tell: {helps}.</span>
              </li>
            ))}
          </ul>
        </section>
      )}
    </>
  );
}

/** A number that keeps less than this share of its spread is told well enough not to be named. */
const WELL_TOLD = 0.6;

/** Groups that the same card would tell, together; each number once. */
function untoldLines({ untold, numbers }: FitRecord['fit']): { helps: string; what: string }[] {
  const open = numbers.filter(({ deviation, deviationBefore }) => deviation > WELL_TOLD * deviationBefore);
  const byHelp = new Map<string, { names: Set<string>; together: boolean }>();
  for (const { names, words } of untold) {
    const helps = words.split('; what would: ')[1] ?? 'another card';
    const line = byHelp.get(helps) ?? { names: new Set<string>(), together: false };
    const named = open.filter(({ name }) => names.includes(name));
    for (const one of named) line.names.add(one.words);
    byHelp.set(helps, { names: line.names, together: line.together || named.length > 1 });
  }
  return [...byHelp].flatMap(([helps, { names, together }]) => {
    if (names.size === 0) return [];
    const what = [...names].join(', ');
    return [
      {
        helps,
        what: `${together ? 'Not told apart: ' : ''}${together ? what : what[0].toUpperCase() + what.slice(1)}.`,
      },
    ];
  });
}
