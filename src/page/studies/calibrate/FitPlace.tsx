import type { FittedNumber } from '../../../studies/calibrate/tell-fit.ts';
import { useCalibrate } from './calibrate-store.ts';
import { ResidualPlot } from './ResidualPlot.tsx';
import { figures, plusMinus } from './words.ts';

/** A number whose spread keeps more than this share of what it was is not told by the card. */
const TOLD = 0.97;

/** What the fit made of the readings. */
export function FitPlace() {
  const record = useCalibrate((state) => state.record);
  if (!record) {
    return (
      <div className="cal-paper cal-empty">
        <h3>From readings to numbers</h3>
        <p>
          The fit looks for the numbers of paint and beam that explain what was read, starting from what the piece says
          now, and tells how sure they are. One misread patch does it no harm. It takes some ten seconds.
        </p>
      </div>
    );
  }
  const { fit } = record;
  const told = fit.numbers.filter(({ deviation, deviationBefore }) => deviation < TOLD * deviationBefore);
  const rest = fit.numbers.filter((one) => !told.includes(one));
  const most = Math.max(...told.map(({ deviationBefore }) => deviationBefore));
  const doubtful = fit.residuals.filter(({ off }) => Math.abs(off) > 3.5);
  return (
    <div className="cal-paper cal-fit">
      <table className="cal-numbers">
        <caption>
          <h3>The numbers, before and after</h3>
        </caption>
        <thead>
          <tr>
            <th scope="col">Number</th>
            <th scope="col">Before</th>
            <th scope="col">Fitted</th>
            <th scope="col" className="cal-range">
              9 in 10 between
            </th>
            <th scope="col">Spread</th>
          </tr>
        </thead>
        <tbody>
          {told.map((one) => (
            <Row key={one.name} number={one} most={most} />
          ))}
        </tbody>
        {rest.length > 0 && (
          <tbody className="cal-untold">
            <tr>
              <th scope="rowgroup" colSpan={5}>
                Not told by these readings
              </th>
            </tr>
            {rest.map((one) => (
              <Row key={one.name} number={one} most={null} />
            ))}
          </tbody>
        )}
      </table>
      {fit.rowOffsetMm && (
        <p>Rows burned backwards land {fit.rowOffsetMm.mm.toFixed(2)} mm off; the passes will allow for it.</p>
      )}
      <ResidualPlot residuals={fit.residuals} />
      {doubtful.length > 0 && (
        <p className="plain">
          {doubtful.map(({ what }) => what).join(', ')}: far from the fit, so {doubtful.length === 1 ? 'it' : 'they'}{' '}
          hardly counted. Look at {doubtful.length === 1 ? 'it' : 'them'} again.
        </p>
      )}
      {fit.misfit > 2 && (
        <p className="plain">
          Readings scatter {fit.misfit.toFixed(1)} times as much as they should; the spread allows for it.
        </p>
      )}
    </div>
  );
}

/** @param most the widest spread of all, for the bars; null for a number that was not told. */
function Row({ number, most }: { number: FittedNumber; most: number | null }) {
  const { words, unit, before, value, low, high, deviationBefore, deviation } = number;
  return (
    <tr>
      <th scope="row">
        {words} {unit && <small className="cal-unit">{unit}</small>}
      </th>
      <td>{figures(before)}</td>
      <td>
        <strong>{figures(value)}</strong>
      </td>
      <td className="cal-range">
        {figures(low)} – {figures(high)}
      </td>
      <td className="cal-spread">
        {most === null ? (
          plusMinus(deviation)
        ) : (
          <>
            <span>
              {plusMinus(deviationBefore)} → <strong>{plusMinus(deviation)}</strong>
            </span>
            <svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">
              <rect className="cal-spread-before" width={(100 * deviationBefore) / most} height={8} />
              <rect className="cal-spread-after" y={2.5} width={(100 * deviation) / most} height={3} />
            </svg>
          </>
        )}
      </td>
    </tr>
  );
}
