import { ToggleButton } from 'react-aria-components';
import { mmPerSToMmPerMin } from '../../base/units.ts';
import {
  duration,
  isJudged,
  likelyNumbers,
  NOW,
  type ProofRecord,
  percent,
  powers,
  togglePicked,
  useProofStore,
} from '../burn/proof-store.ts';
import { UncalibratedMark } from '../fields/UncalibratedMark.tsx';
import { useSessionStore } from '../store/piece-store.ts';

interface ProofCardProps {
  id: string;
  title: string;
  record: ProofRecord;
  thumbnail: string | null;
  /** Before the proof is picked or let go of. */
  onPick?: () => void;
}

/** A proof as a small picture with what it was made with and what came out. Pressed, it is shown on the slab. */
export function ProofCard({ id, title, record, thumbnail, onPick }: ProofCardProps) {
  const picked = useProofStore((state) => state.picked);
  const [first] = record.piece.passes;
  const { summary } = record.result ?? {};
  const likely = likelyNumbers(record);
  const { source } = record.piece.certainty;
  const compare = useSessionStore((state) => state.compare);
  const place = picked.indexOf(id);
  const side = picked.length === 2 && place >= 0 ? (place === 0 ? 'left' : 'right') : null;
  return (
    <ToggleButton
      className={`card${side ? ` card-${side}` : ''}`}
      isSelected={place >= 0}
      onChange={() => {
        onPick?.();
        togglePicked(id);
      }}
    >
      {thumbnail && <img src={thumbnail} alt="" draggable={false} />}
      <span className="card-text">
        <b>
          <span className="card-title">{title}</span>
          {side && <span className="unseen">{compare === 'wipe' ? `${side} of the wipe` : `on the ${side}`}</span>}
          {side && (
            <em className="side" aria-hidden="true">
              {side}
            </em>
          )}
          {summary && <UncalibratedMark source={source} />}
        </b>
        <span>{record.piece.passes.map((pass) => powers(pass.lightEndPower, pass.darkEndPower)).join(' + ')}</span>
        {record.status !== 'failed' && <span>{Math.round(mmPerSToMmPerMin(first.feedMmPerS))} mm/min</span>}
        {summary ? (
          <span>
            {duration(summary.burnTimeS)} · {id === NOW ? `${summary.rows.toLocaleString()} rows · ` : ''}
            {likely && (id !== NOW || isJudged(record)) ? `${percent(likely.unclearedShare)} left dark` : 'judging…'}
          </span>
        ) : (
          <ProofState id={id} record={record} />
        )}
      </span>
    </ToggleButton>
  );
}

const STAGE_WORDS: Readonly<Record<string, string>> = {
  colour: 'mixing colours',
  tones: 'preparing the picture',
  screen: 'screening',
  heat: 'following the heat',
  dots: 'placing dots',
  burn: 'computing the burn',
};

function ProofState({ id, record }: { id: string; record: ProofRecord }) {
  const { share, stage } = useProofStore((state) => state.progress);
  const repeating = useProofStore((state) => state.repeating);
  if (record.status === 'failed') return <span className="fault">{record.fault}</span>;
  if (record.status === 'stopped') return <span>stopped; shown without dots</span>;
  if (record.status === 'waiting') return <span>not computed yet: pick it</span>;
  if (record.id !== useProofStore.getState().current?.id) {
    return repeating?.id === id ? (
      <Progress words="computing" share={repeating.share} />
    ) : (
      <span>waits for its turn</span>
    );
  }
  return <Progress words={STAGE_WORDS[stage] ?? 'quick look first'} share={share} />;
}

/** How far a proof is. */
export function Progress({ words, share }: { words: string; share: number }) {
  return (
    <span className="progress" role="progressbar" aria-label="Proof" aria-valuenow={Math.round(100 * share)}>
      <span>{words}…</span>
      <i style={{ width: `${100 * share}%` }} />
    </span>
  );
}
