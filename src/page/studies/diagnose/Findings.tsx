import { Button } from 'react-aria-components';
import { applyEdits, type Finding, SHOWS, SPOILS } from '../../../studies/diagnose/finding.ts';
import type { ProofRecord } from '../../burn/proof-store.ts';
import { percent } from '../../burn/words.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import { setSession } from '../../store/session-store.ts';
import { BandOf } from '../sure/SureLines.tsx';
import './proof.css';

const weightOf = (severity: number) =>
  severity >= SPOILS
    ? { id: 'spoils', words: 'Will spoil it' }
    : severity >= SHOWS
      ? { id: 'shows', words: 'Will show' }
      : { id: 'slight', words: 'Slight' };

interface FindingsProps {
  record: ProofRecord;
  /** Its settings are the ones on the table: changes can be made. */
  current: boolean;
}

/** What will go wrong, worst first; where to see it, and what to press. */
export function Findings({ record, current }: FindingsProps) {
  const { diagnosis } = record;
  if (!diagnosis) {
    return (
      <p className="plain" role="status">
        {current ? 'Looking for what will go wrong…' : 'Findings come with a proof that is made anew.'}
      </p>
    );
  }
  return (
    <section className="diagnosis" aria-label="What will go wrong">
      <p className="verdict" role="status">
        {diagnosis.verdict}
      </p>
      {diagnosis.findings.length > 0 && (
        <ol className="finding-list">
          {diagnosis.findings.map((finding) => (
            <FindingCard key={finding.kind} finding={finding} record={record} current={current} />
          ))}
        </ol>
      )}
    </section>
  );
}

function FindingCard({ finding, record, current }: FindingsProps & { finding: Finding }) {
  const change = usePieceStore((state) => state.change);
  const { place, change: remedy, sentence } = finding;
  const weight = weightOf(finding.severity);
  const sure = record.sure;
  return (
    <li className={`finding finding-${weight.id}`}>
      <small className="finding-weight">{weight.words}</small>
      <p>
        {unbroken(sentence)}
        {finding.kind === 'uncleared' && <BandOf band={sure?.uncleared} text={percent} />}
        {finding.kind === 'scorch' && <BandOf band={sure?.scorched} text={percent} />}
      </p>
      <div className="finding-actions">
        {remedy && current && (
          <Button className="finding-change" onPress={() => change((piece) => applyEdits(piece, remedy.edits))}>
            {unbroken(remedy.words)}
          </Button>
        )}
        {place && (
          <Button className="finding-show" aria-label={`Show it: ${sentence}`} onPress={() => show(record, finding)}>
            Show it
          </Button>
        )}
      </div>
      {remedy && <p className="small-print">{unbroken(remedy.outcome)}</p>}
    </li>
  );
}

/** Numbers stay with their units at the end of a line. */
const unbroken = (text: string): string => text.replace(/(\d) (?=%|µm|mm|cm|L\*|K\b|points|min\b|EV)/g, '$1\u00a0');

/** Flies there, and marks what is to be seen there. */
function show({ piece, full, coarse }: ProofRecord, { place, kind }: Finding): void {
  const surface = full ?? coarse;
  if (!place || !surface) return;
  const { picture } = piece;
  const { width, height, pitchMm } = surface;
  setSession({
    lookAt: {
      xMm: picture.offsetXMm - (width * pitchMm) / 2 + place.xMm,
      yMm: picture.offsetYMm - (height * pitchMm) / 2 + place.yMm,
      sizeMm: place.sizeMm,
    },
    ...(kind === 'uncleared' ? { uncleared: true } : {}),
    ...(kind === 'scorch' || kind === 'breakthrough' || kind === 'run-up' ? { scorched: true } : {}),
  });
}
