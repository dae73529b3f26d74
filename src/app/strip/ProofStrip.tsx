import { Button, ToggleButton } from 'react-aria-components';
import { mmPerSToMmPerMin } from '../../core/units.ts';
import { UncalibratedMark } from '../controls/UncalibratedMark.tsx';
import { pinCurrent, unpin } from '../pins.ts';
import { stopProof } from '../proof-client.ts';
import { NOW, type ProofRecord, togglePicked, useProofStore } from '../stores/proof-store.ts';
import { duration, percent, powers } from '../words.ts';

/** Along the bottom: the proof being worked on and the pinned ones; pick two and a wipe divides the slab between them. */
export function ProofStrip() {
  const current = useProofStore((state) => state.current);
  const pins = useProofStore((state) => state.pins);
  const picked = useProofStore((state) => state.picked);
  if (!current) return null;
  return (
    <section className="proof-strip" aria-label="Proofs">
      <Card id={NOW} title="Now" record={current} picked={picked} thumbnail={null} />
      <div className="strip-actions">
        <Button className="pin-button" isDisabled={current.status !== 'done'} onPress={() => void pinCurrent()}>
          Pin
        </Button>
        {current.status === 'computing' && (
          <Button className="quiet" onPress={stopProof}>
            Stop
          </Button>
        )}
      </div>
      <div className="pins">
        {pins.length === 0 && (
          <p className="strip-hint">Pin a proof, change a setting, then pick both: a wipe divides the slab.</p>
        )}
        {pins.map((pin) => (
          <div key={pin.id} className="pin">
            <Card id={pin.id} title={pin.name} record={pin.record} picked={picked} thumbnail={pin.thumbnail} />
            <Button className="unpin" aria-label={`Take ${pin.name} off the strip`} onPress={() => unpin(pin.id)}>
              ×
            </Button>
          </div>
        ))}
      </div>
    </section>
  );
}

interface CardProps {
  id: string;
  title: string;
  record: ProofRecord;
  picked: readonly string[];
  thumbnail: string | null;
}

function Card({ id, title, record, picked, thumbnail }: CardProps) {
  const [first] = record.piece.passes;
  const { summary } = record.result ?? {};
  const { source } = record.piece.certainty;
  const place = picked.indexOf(id);
  const side = picked.length === 2 && place >= 0 ? (place === 0 ? 'left' : 'right') : null;
  return (
    <ToggleButton
      className={`card${side ? ` card-${side}` : ''}`}
      isSelected={place >= 0}
      onChange={() => togglePicked(id)}
      aria-label={`${title}${side ? `, ${side} of the wipe` : ''}${summary && source === 'preset' ? ', uncalibrated' : ''}`}
    >
      {thumbnail && <img src={thumbnail} alt="" />}
      <span className="card-text">
        <b>
          {title}
          {side && <em className="side">{side}</em>}
          {summary && <UncalibratedMark source={source} />}
        </b>
        <span>{record.piece.passes.map((pass) => powers(pass.lightEndPower, pass.darkEndPower)).join(' + ')}</span>
        <span>{Math.round(mmPerSToMmPerMin(first.feedMmPerS))} mm/min</span>
        {summary ? (
          <span>
            {duration(summary.burnTimeS)} · {summary.rows.toLocaleString()} rows · {percent(summary.unclearedShare)}{' '}
            uncleared
          </span>
        ) : (
          <Progress record={record} />
        )}
      </span>
    </ToggleButton>
  );
}

const STAGE_WORDS: Readonly<Record<string, string>> = {
  colour: 'mixing colours',
  tones: 'preparing the picture',
  screen: 'screening',
  burn: 'burning',
};

function Progress({ record }: { record: ProofRecord }) {
  const { share, stage } = useProofStore((state) => state.progress);
  if (record.status === 'failed') return <span className="fault">{record.fault}</span>;
  if (record.status === 'stopped') return <span>stopped; shown without dots</span>;
  return (
    <span className="progress" role="progressbar" aria-label="Proof" aria-valuenow={Math.round(100 * share)}>
      <span>{STAGE_WORDS[stage] ?? 'quick look first'}…</span>
      <i style={{ width: `${100 * share}%` }} />
    </span>
  );
}
