import { useState } from 'react';
import { Button } from 'react-aria-components';
import { quantity } from '../../../base/quantity.ts';
import type { Metrics } from '../../../studies/diagnose/diagnose.ts';
import { applyEdits, type Finding, SHOWS, SPOILS } from '../../../studies/diagnose/finding.ts';
import { VIEWING_MM } from '../../../studies/diagnose/noise.ts';
import { seenNoise } from '../../../studies/diagnose/tally.ts';
import type { ToneChart as Chart } from '../../../studies/diagnose/tones.ts';
import { duration, isJudged, likelyNumbers, type ProofRecord, percent } from '../../burn/proof-store.ts';
import { ValueControl } from '../../fields/ValueControl.tsx';
import { setSession, usePieceStore } from '../../store/piece-store.ts';
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
        <dt>Left dark, of the light areas’ dots</dt>
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

const ZONES = ['Darkest', 'Dark', 'Middle', 'Light', 'Lightest'];

const signed = (value: number) => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(1)}`;

const VIEWING_DISTANCE = quantity(100, 5000, {
  label: 'Viewing distance',
  unit: 'mm',
  step: 50,
  digits: 0,
  sliderLow: 150,
  sliderHigh: 2000,
});

/** How even and how true in tone the proof is, and how much of it one sees from where one stands. */
export function QualityFigures({ metrics }: { metrics: Metrics }) {
  const [distanceMm, setDistanceMm] = useState<number>(VIEWING_MM);
  const { toneError } = metrics;
  return (
    <>
      {metrics.noiseTiles > 0 && (
        <>
          <ValueControl
            of={VIEWING_DISTANCE}
            hint="From further away fine grain vanishes sooner than blotches."
            value={distanceMm}
            onChange={setDistanceMm}
          />
          <dl className="figures">
            <div>
              <dt>Unevenness seen from there</dt>
              <dd>
                <strong>{seenNoise(metrics.noiseBands, distanceMm).toFixed(1)} L*</strong>
              </dd>
            </div>
            <div>
              <dt>Mottle, graininess (ISO 13660)</dt>
              <dd>
                <strong>
                  {metrics.mottle.toFixed(3)}, {metrics.graininess.toFixed(3)}
                </strong>
              </dd>
            </div>
          </dl>
        </>
      )}
      <dl className="figures">
        <div>
          <dt>Tone error, mean and largest</dt>
          <dd>
            <strong>
              {toneError.rms.toFixed(1)}, {toneError.max.toFixed(1)} L*
            </strong>
          </dd>
        </div>
        {toneError.zones.map(
          ({ error, share }, i) =>
            share > 0.001 && (
              <div key={ZONES[i]}>
                <dt>
                  {ZONES[i]} tones, {percent(share)} of the picture
                </dt>
                <dd>{signed(error)} L*</dd>
              </div>
            ),
        )}
        <div>
          <dt>Finest contrast lost to the beam</dt>
          <dd>{percent(metrics.detailLost)}</dd>
        </div>
      </dl>
      <p className="small-print">
        Density and L* of the light areas where the picture itself is even. Above zero: lighter than the picture asks
        for.
      </p>
    </>
  );
}

/** Heights of the three bands of the chart, and the gap between them, in units of its own. */
const WIDTH = 260;

const LEFT = 38;

const PANELS = { power: 44, residue: 52, lightness: 120 };

const GAP = 24;

interface PanelProps {
  top: number;
  height: number;
  label: string;
  /** Value at the top edge and how it is written. */
  most: number;
  unit: string;
  children: (y: (value: number) => number) => React.ReactNode;
}

function Panel({ top, height, label, most, unit, children }: PanelProps) {
  const y = (value: number) => top + height * (1 - Math.min(1, Math.max(0, value / most)));
  return (
    <g>
      <text x={LEFT} y={top - 5} className="chart-label">
        {label}
      </text>
      <rect x={LEFT} y={top} width={WIDTH - LEFT} height={height} className="chart-ground" />
      <text x={LEFT - 4} y={top + 11} textAnchor="end" className="chart-tick">
        {most}
        {unit}
      </text>
      <text x={LEFT - 4} y={top + height} textAnchor="end" className="chart-tick">
        0
      </text>
      {children(y)}
    </g>
  );
}

const x = (tone: number) => LEFT + tone * (WIDTH - LEFT);

const path = (tones: readonly number[], ys: readonly number[]): string =>
  tones.map((tone, i) => `${i === 0 ? 'M' : 'L'}${x(tone).toFixed(1)} ${ys[i].toFixed(1)}`).join('');

/** What becomes of each tone of the photograph: the power it is burned with, the residue that leaves, the lightness it takes; each pass a line. */
export function ToneChart({ chart }: { chart: Chart }) {
  const { tones, passes, wanted, low, high } = chart;
  const residueTop = Math.max(5, Math.ceil(Math.max(...passes.flatMap((pass) => pass.residueUm)) / 5) * 5);
  const tops = {
    power: 16,
    residue: 16 + PANELS.power + GAP,
    lightness: 16 + PANELS.power + PANELS.residue + 2 * GAP,
  };
  const bottom = tops.lightness + PANELS.lightness;
  const lines = (pick: (pass: Chart['passes'][number]) => readonly number[], y: (value: number) => number) =>
    passes.map((pass, i) => (
      <path
        // biome-ignore lint/suspicious/noArrayIndexKey: a pass is its place
        key={i}
        d={path(tones, pick(pass).map(y))}
        className={i === passes.length - 1 ? 'chart-line chart-last' : 'chart-line'}
      />
    ));
  return (
    <figure className="tone-chart">
      <svg viewBox={`0 0 ${WIDTH + 4} ${bottom + 20}`} role="img" aria-label={inWords(chart)}>
        <Panel top={tops.power} height={PANELS.power} label="Mean power" most={100} unit="%">
          {(y) => lines((pass) => pass.power.map((share) => 100 * share), y)}
        </Panel>
        <Panel top={tops.residue} height={PANELS.residue} label="Residue of the top coat, µm" most={residueTop} unit="">
          {(y) => lines((pass) => pass.residueUm, y)}
        </Panel>
        <Panel top={tops.lightness} height={PANELS.lightness} label="Lightness, L*" most={100} unit="">
          {(y) => (
            <>
              <path
                className="chart-band"
                d={`${path(tones, high.map(y))}${path(tones.toReversed(), low.map(y).toReversed()).replace('M', 'L')}Z`}
              />
              <path className="chart-wanted" d={path(tones, wanted.map(y))} />
              {lines((pass) => pass.lightness, y)}
            </>
          )}
        </Panel>
        <text x={LEFT} y={bottom + 15} className="chart-tick">
          black
        </text>
        <text x={(LEFT + WIDTH) / 2} y={bottom + 15} textAnchor="middle" className="chart-tick">
          tone of the photograph
        </text>
        <text x={WIDTH} y={bottom + 15} textAnchor="end" className="chart-tick">
          white
        </text>
      </svg>
      <figcaption className="small-print">
        {passes.length > 1 ? 'A line after each pass, the last one strong. ' : ''}Dashed: what the picture asks for.
        Shaded: where lightness lies in eight of ten paints and beams like these. On a film of mean thickness.
      </figcaption>
    </figure>
  );
}

/** The chart for those who do not see it: the last pass at five tones. */
function inWords({ tones, passes, low, high }: Chart): string {
  const last = passes[passes.length - 1];
  const parts = [0, 0.25, 0.5, 0.75, 1].map((tone) => {
    const i = Math.round(tone * (tones.length - 1));
    return `${100 * tone} %: power ${Math.round(100 * last.power[i])} %, residue ${last.residueUm[i].toFixed(1)} µm, L* ${last.lightness[i].toFixed(0)} (${low[i].toFixed(0)} to ${high[i].toFixed(0)})`;
  });
  return `Tone chart. Tone of the photograph and what becomes of it: ${parts.join('; ')}`;
}
