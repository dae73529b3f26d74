import { isJudged, likelyNumbers } from '../../burn/likely-numbers.ts';
import type { ProofRecord } from '../../burn/proof-store.ts';
import { duration, percent } from '../../burn/words.ts';
import { BandOf } from '../sure/SureLines.tsx';

/** The proof in numbers, with their bands. */
export function ProofFigures({ record }: { record: ProofRecord }) {
  const { result, sure, diagnosis } = record;
  const likely = likelyNumbers(record);
  if (!result) return null;
  const said = (text: (numbers: NonNullable<typeof likely>) => string) =>
    likely && isJudged(record) ? text(likely) : '…';
  const { summary } = result;
  const told = (kind: string) => diagnosis?.findings.some((finding) => finding.kind === kind) ?? false;
  return (
    <dl className="figures">
      <div>
        <dt>Uncleared, of the light areas’ dots</dt>
        <dd>
          <strong>{said(({ unclearedShare }) => percent(unclearedShare))}</strong>
          {!told('uncleared') && <BandOf band={sure?.uncleared} text={percent} />}
        </dd>
      </div>
      <div>
        <dt>Scorched, of the picture</dt>
        <dd>
          <strong>{said(({ scorchedShare }) => percent(scorchedShare))}</strong>
          {!told('scorch') && <BandOf band={sure?.scorched} text={percent} />}
        </dd>
      </div>
      <div>
        <dt>Residue in the light areas</dt>
        <dd>
          <strong>{said(({ residueUm }) => `${residueUm.toFixed(2)} µm`)}</strong>
          <BandOf band={sure?.residueUm} text={(um) => um.toFixed(2)} />
        </dd>
      </div>
      <div>
        <dt>Deepest place</dt>
        <dd>
          <strong>{summary.maxDepthUm.toFixed(0)} µm</strong>
        </dd>
      </div>
      <div>
        <dt>{summary.rows.toLocaleString()} rows</dt>
        <dd>
          <strong>{duration(summary.burnTimeS)}</strong>
        </dd>
      </div>
    </dl>
  );
}
