import type { ToneChart as Chart } from '../../../studies/diagnose/tone-chart.ts';

/** Heights of the three bands of the chart, and the gap between them, in units of its own. */
const WIDTH = 260;
const LEFT = 30;
const PANELS = { power: 44, residue: 52, lightness: 120 };
const GAP = 18;

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
      <text x={LEFT - 4} y={top + 8} textAnchor="end" className="chart-tick">
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

/** What becomes of each tone of the photo: the power it is burned with, the residue that leaves, the lightness it takes; each pass a line. */
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
      <svg viewBox={`0 0 ${WIDTH + 4} ${bottom + 16}`} role="img" aria-label={inWords(chart)}>
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
        <text x={LEFT} y={bottom + 12} className="chart-tick">
          black
        </text>
        <text x={(LEFT + WIDTH) / 2} y={bottom + 12} textAnchor="middle" className="chart-tick">
          tone of the photo
        </text>
        <text x={WIDTH} y={bottom + 12} textAnchor="end" className="chart-tick">
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
  return `Tone chart. Tone of the photo and what becomes of it: ${parts.join('; ')}`;
}
