import { type ChooseResult, minutesOf } from '../../../studies/choose/suggestion.ts';
import { duration } from '../../burn/words.ts';

const WIDTH = 240;
const HEIGHT = 110;
const LEFT = 26;
const BOTTOM = 22;
const TOP = 8;
const RIGHT = 10;

/** Minutes against what the picture loses: everything that was tried and keeps the limits, with the best of it joined. */
export function TradeOffChart({ result: { seen, suggestions } }: { result: ChooseResult }) {
  const points = [
    ...seen.map((one) => ({ minutes: one.minutes, loss: one.qualityLossL })),
    ...suggestions.map((one) => ({ minutes: minutesOf(one), loss: one.outcome.qualityLossL })),
  ];
  const [low, high] = rangeOf(points.map(({ minutes }) => minutes));
  const [fine, coarse] = rangeOf(points.map(({ loss }) => loss));
  const x = (minutes: number) => LEFT + ((WIDTH - LEFT - RIGHT) * (minutes - low)) / (high - low);
  const y = (loss: number) => TOP + ((HEIGHT - TOP - BOTTOM) * (loss - fine)) / (coarse - fine);
  const front = seen.filter((one) => one.front).sort((a, b) => a.minutes - b.minutes);
  return (
    <figure className="trade-off">
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label="Minutes against quality of everything tried">
        <path className="axis" d={`M${LEFT} ${TOP - 4}V${HEIGHT - BOTTOM + 4}H${WIDTH - RIGHT + 4}`} />
        <text x={LEFT} y={HEIGHT - 6}>
          {duration(60 * low)}
        </text>
        <text x={WIDTH - RIGHT} y={HEIGHT - 6} textAnchor="end">
          {duration(60 * high)}
        </text>
        <text transform={`translate(12 ${HEIGHT - BOTTOM}) rotate(-90)`}>coarser</text>
        <text transform={`translate(12 ${TOP + 20}) rotate(-90)`}>finer</text>
        {seen.map((one, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: what was tried has no identity but its place
          <circle key={i} className="tried" cx={x(one.minutes)} cy={y(one.qualityLossL)} r={1.6} />
        ))}
        {front.length > 1 && (
          <polyline points={front.map((one) => `${x(one.minutes)},${y(one.qualityLossL)}`).join(' ')} />
        )}
        {suggestions.map((one) => (
          <circle
            key={one.id}
            className={one.role === 'best' ? 'picked picked-best' : 'picked'}
            cx={x(minutesOf(one))}
            cy={y(one.outcome.qualityLossL)}
            r={4}
          />
        ))}
      </svg>
      <figcaption>
        {seen.length} settings that keep the limits; filled in are the suggestions
        {suggestions.some(({ role }) => role === 'best') && ', the accent is the one that suits what matters best'}.
      </figcaption>
    </figure>
  );
}

function rangeOf(values: readonly number[]): [number, number] {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = Math.max(0.05 * (high - low), 0.01 * high, 1e-6);
  return [Math.max(0, low - room), high + room];
}
