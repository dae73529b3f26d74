import { useState } from 'react';
import { Button } from 'react-aria-components';
import type { LogEntry } from '../../../piece/schema.ts';
import { openNumbers } from '../../../studies/calibrate/fit-card.ts';
import type { Band } from '../../../studies/sure/how-sure.ts';
import type { LightAreas } from '../../../vision/card/reading.ts';
import { percent, powers } from '../../burn/proof-store.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { More } from '../../fields/SheetDialog.tsx';
import { ChoiceControl, SwitchControl } from '../../fields/ValueControl.tsx';
import { usePieceStore } from '../../store/piece-store.ts';
import { type FitRecord, setCalibrate, showPart, today, useCalibrateStore } from './calibrate-store.ts';
import { applyNumbers, fitReadings, freshReadings, standingOf, takeSlab } from './card-actions.ts';
import { ReadingList } from './ReadingList.tsx';

export function FitPanel() {
  const work = useCalibrateStore((state) => state.work);
  const filmMeasured = useCalibrateStore((state) => state.filmMeasured);
  const changes = useCalibrateStore((state) => state.changes);
  const record = useCalibrateStore((state) => state.record);
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
            hint="Thickness of the top coat stays as the piece has it, and the rest is measured better."
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
        <p className="warning">The fit did not settle; look at the readings before you use its numbers.</p>
      )}
      {standing === 'in use' ? (
        <Button className="wide sheet-main" onPress={() => showPart('shelf')}>
          Put it on the shelf
        </Button>
      ) : (
        <Button className="wide sheet-main" isDisabled={standing === 'stale'} onPress={() => applyNumbers(record)}>
          Use these numbers
        </Button>
      )}
      {standing === 'stale' && <p className="hint">Coats or machine have been changed since; fit again.</p>}
      {fit.untold.length > 0 && (
        <section className="calibrate-cannot" aria-label="What stays open">
          <h3>What stays open</h3>
          <ul>
            {openNumbers(fit).map(({ helps, words, together }) => (
              <li key={helps}>
                {together ? `Not known apart: ${words}` : words[0].toUpperCase() + words.slice(1)}.{' '}
                <span>What would measure it: {helps}.</span>
              </li>
            ))}
          </ul>
        </section>
      )}
    </>
  );
}

/** The band of the light areas' uncleared share, before and after, on one scale. */
function BandPair({ before, after }: { before: Band; after: Band }) {
  const top = Math.max(before.high, after.high, 0.02);
  const narrower = before.high - before.low > 0 ? (after.high - after.low) / (before.high - before.low) : 1;
  return (
    <section className="calibrate-bands" aria-label="Share of the light areas left dark">
      <h3>Light areas left dark</h3>
      <Bar label="Before" band={before} top={top} />
      <Bar label="After" band={after} top={top} after />
      <p className="plain">
        {narrower < 0.95
          ? `8 in 10 cases lie between the ends: the band is ${Math.round(100 * (1 - narrower))} % narrower.`
          : '8 in 10 cases lie between the ends. The band is not narrower: these readings measure other things, or show that the middle lies elsewhere.'}
      </p>
    </section>
  );
}

function Bar({ label, band, top, after = false }: { label: string; band: Band; top: number; after?: boolean }) {
  const at = (share: number) => `${(100 * share) / top}%`;
  return (
    <div className={after ? 'calibrate-band calibrate-band-after' : 'calibrate-band'}>
      <p>
        <span>{label}</span>
        <span>
          {percent(band.low)} to {percent(band.high)}
        </span>
      </p>
      <div aria-hidden="true">
        <i style={{ left: at(band.low), width: `max(3px, ${at(band.high - band.low)})` }} />
        <b style={{ left: at(band.middle) }} />
      </div>
    </div>
  );
}

const AREAS: readonly { id: LightAreas; label: string; note: string }[] = [
  { id: 'clear', label: 'Clear', note: 'No dark residue in the lightest areas.' },
  { id: 'blotchy', label: 'Blotchy', note: 'Clear in places, residue in others.' },
  { id: 'covered', label: 'Still covered', note: 'Dark residue all over them.' },
  { id: 'scorched', label: 'Scorched', note: 'Clear, and the undercoat turned yellow or brown.' },
];

const FROM_LOG: Partial<Readonly<Record<LogEntry['outcome'], LightAreas>>> = {
  good: 'clear',
  blotchy: 'blotchy',
  'too-dark': 'covered',
  scorched: 'scorched',
};

/** How a finished slab came out, from the log or as it is seen now: it counts as one more reading. */
function SlabEvidence() {
  const { log, passes } = usePieceStore((state) => state.piece);
  const now = { burnedAt: today(), passes };
  const entries: { label: string; note: string; entry: Pick<LogEntry, 'passes' | 'burnedAt'>; areas?: LightAreas }[] = [
    { label: 'With today’s passes', note: tell(passes), entry: now },
    ...log.toReversed().map((entry) => ({
      label: `Burned ${entry.burnedAt.slice(0, 10)}`,
      note: tell(entry.passes),
      entry,
      areas: FROM_LOG[entry.outcome],
    })),
  ];
  const [at, setAt] = useState(0);
  const [areas, setAreas] = useState<LightAreas>('clear');
  const chosen = entries[Math.min(at, entries.length - 1)];
  return (
    <div className="folds">
      <More label="A finished slab counts too" note={log.length > 0 ? `${log.length} in the log` : undefined}>
        <ChoiceControl
          label="Slab"
          value={String(Math.min(at, entries.length - 1))}
          choices={entries.map(({ label, note }, i) => ({ id: String(i), label, note }))}
          onChange={(id) => {
            setAt(Number(id));
            const known = entries[Number(id)].areas;
            if (known) setAreas(known);
          }}
        />
        <ChoiceControl label="Its lightest areas" value={areas} choices={AREAS} onChange={setAreas} />
        <Button className="wide" onPress={() => takeSlab(chosen.entry, areas)}>
          Count it as a reading
        </Button>
      </More>
    </div>
  );
}

const tell = (passes: LogEntry['passes']): string =>
  passes.map(({ lightEndPower, darkEndPower }) => powers(lightEndPower, darkEndPower)).join(', then ');
