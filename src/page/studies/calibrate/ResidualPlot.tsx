import type { Residual } from '../../../studies/calibrate/tell-fit.ts';

const WIDTH = 640;
const HEIGHT = 150;
/** Standard deviations shown either way. */
const REACH = 4;
const LEFT = 26;

/** How far each reading lies from the fit, in its own standard deviations: without a pattern if all is as thought. */
export function ResidualPlot({ residuals }: { residuals: readonly Residual[] }) {
  if (residuals.length === 0) return null;
  const y = (off: number) => HEIGHT / 2 - (Math.min(REACH, Math.max(-REACH, off)) / (REACH + 0.4)) * (HEIGHT / 2);
  const x = (i: number) => LEFT + ((i + 0.5) / residuals.length) * (WIDTH - LEFT - 6);
  const within = residuals.filter(({ off }) => Math.abs(off) <= 2).length;
  const words = `${within} of ${residuals.length} readings lie within two of their standard deviations of the fit.`;
  return (
    <figure className="cal-residuals">
      <figcaption>
        <h3>What the fit leaves over</h3>
        <p className="cal-residuals-words">
          {words} Above the line: lighter, wider or at higher power than the fit says.
        </p>
      </figcaption>
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={words}>
        <rect className="cal-usual" x={LEFT} y={y(2)} width={WIDTH - LEFT} height={y(-2) - y(2)} />
        {[-4, -2, 0, 2, 4].map((tick) => (
          <g key={tick}>
            <line className={tick === 0 ? 'cal-zero' : 'cal-tick'} x1={LEFT} x2={WIDTH} y1={y(tick)} y2={y(tick)} />
            <text x={LEFT - 7} y={y(tick) + 3}>
              {tick > 0 ? `+${tick}` : String(tick).replace('-', '−')}
            </text>
          </g>
        ))}
        {residuals.map(({ what, measured, fitted, off, counted }, i) => (
          <circle
            key={what}
            className={counted < 0.5 ? 'cal-dot cal-dot-doubtful' : 'cal-dot'}
            cx={x(i)}
            cy={y(off)}
            r={3}
          >
            <title>{`${what}: read ${measured.toPrecision(3)}, fit ${fitted.toPrecision(3)}`}</title>
          </circle>
        ))}
      </svg>
    </figure>
  );
}
