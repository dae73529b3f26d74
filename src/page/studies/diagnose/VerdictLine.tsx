import { useSyncExternalStore } from 'react';
import { Button } from 'react-aria-components';
import { applyEdits, briefVerdictOf, LIKELY, OPEN, SHOWS, SURE } from '../../../studies/diagnose/finding.ts';
import { computeAgain } from '../../burn/proof-remote.ts';
import { type ProofRecord, useProofStore, useShown } from '../../burn/proof-store.ts';
import { setSession, usePieceStore, useSessionStore } from '../../store/piece-store.ts';
import { setCalibrate } from '../calibrate/calibrate-store.ts';
import './verdict.css';

/** How it looks for the piece: what the mark beside the sentence says by its colour and its shape. */
type Outlook = 'waiting' | 'well' | 'likely' | 'open' | 'badly';

function outlookOf({ status, sure, diagnosis }: ProofRecord): Outlook {
  if (status === 'failed' || status === 'stopped' || !sure || !diagnosis) return 'waiting';
  const { accepted } = sure;
  return accepted >= SURE ? 'well' : accepted >= LIKELY ? 'likely' : accepted >= OPEN ? 'open' : 'badly';
}

const MARKS: Readonly<Record<Outlook, string>> = { waiting: '…', well: '✓', likely: '✓', open: '?', badly: '!' };

/** What one sees, and what is known of it by now; all of it stands in the step of the proof too. */
function said(record: ProofRecord, isBrief: boolean): [what: string, words: string] {
  const { status, fault, result, full, id, sure, diagnosis, piece } = record;
  const basis = piece.certainty.source === 'calibrated' ? 'Proof · calibrated' : 'Proof · typical values';
  if (status === 'failed') return ['No proof', fault ?? 'The proof could not be computed.'];
  if (status === 'stopped') return ['Quick look', 'The proof was stopped: tones are as they will be, dots are not.'];
  if (status === 'waiting') return ['Not computed', 'Pick this proof on the bar to compute it.'];
  if (!result && full?.id !== id) return ['Quick look', 'Tones are as they will be; the dots follow with the proof.'];
  if (!sure) return [basis, 'Trying other likely paints, films and beams…'];
  if (!diagnosis) return [basis, 'Looking for what will go wrong…'];
  return [basis, isBrief ? briefVerdictOf(sure.accepted, diagnosis.findings) : diagnosis.verdict];
}

/** Where there is little room over the slab (styles.css). */
const NARROW = globalThis.matchMedia(
  '(max-width: 559px), (max-width: 959px) and (orientation: portrait), (max-height: 559px)',
);

const useNarrow = (): boolean =>
  useSyncExternalStore(
    (tell) => {
      NARROW.addEventListener('change', tell);
      return () => NARROW.removeEventListener('change', tell);
    },
    () => NARROW.matches,
  );

/** In sight whatever step is open: will it come out, on what that rests, and what to do next. */
export function VerdictLine({ left }: { left: number }) {
  const { left: record, right } = useShown();
  const current = useProofStore((state) => state.current?.id === record?.id);
  // Its place is taken where two proofs are compared, or the picture is placed by hand.
  const placing = useSessionStore(({ placing: held, openStep }) => held && openStep === 'picture');
  const isNarrow = useNarrow();
  if (!record || right || placing) return null;
  const outlook = outlookOf(record);
  const [what, words] = said(record, isNarrow);
  return (
    <section className={`verdict-line verdict-${outlook}`} aria-label="Will it come out?" style={{ left }}>
      <span className="verdict-mark" aria-hidden="true">
        {MARKS[outlook]}
      </span>
      <div>
        <small>{what}</small>
        <p role="status">{words}</p>
      </div>
      {current && <NextSteps record={record} />}
    </section>
  );
}

/** One or two things to do next. */
function NextSteps({ record }: { record: ProofRecord }) {
  const change = usePieceStore((state) => state.change);
  const { status, sure, diagnosis, piece } = record;
  if (status === 'stopped' || status === 'failed') {
    return (
      <div className="verdict-steps">
        <Button className="verdict-step" onPress={computeAgain}>
          Compute the proof
        </Button>
      </div>
    );
  }
  if (status !== 'done' || !sure || !diagnosis) return null;
  const remedy = diagnosis.findings.find(({ severity, change: known }) => severity >= SHOWS && known)?.change;
  const unsure = sure.accepted < SURE;
  if (!remedy && !unsure) return null;
  return (
    <div className="verdict-steps">
      {remedy && (
        <Button className="verdict-step" onPress={() => change((old) => applyEdits(old, remedy.edits))}>
          {remedy.words}
        </Button>
      )}
      {unsure && piece.certainty.source !== 'calibrated' && (
        <Button className="verdict-step" onPress={() => setCalibrate({ open: true })}>
          Burn a card first…
        </Button>
      )}
      {unsure && (piece.certainty.source === 'calibrated' || !remedy) && (
        <Button
          className="verdict-step"
          onPress={() => setSession({ openStep: 'proof', unfolds: 'find-settings', placing: false })}
        >
          Find better settings…
        </Button>
      )}
    </div>
  );
}
