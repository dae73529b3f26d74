import type { RescuePlan } from '../../../studies/rescue/propose.ts';
import type { RescueState } from '../../../studies/rescue/state.ts';
import { percent } from '../../burn/words.ts';

const ROWS: readonly { label: string; text: (state: RescueState) => string }[] = [
  { label: 'Uncleared', text: ({ uncleared }) => percent(uncleared.middle) },
  { label: 'Residue', text: ({ residueUm }) => `${residueUm.middle.toFixed(2)} µm` },
  { label: 'Scorched', text: ({ scorched }) => percent(scorched.middle) },
  { label: 'Clears', text: ({ clears }) => `${Math.round(100 * clears)} %` },
];

/** Before and after the pass, and the powers to try first. */
export function RescueFigures({ before, plan }: { before: RescueState; plan: RescuePlan }) {
  return (
    <>
      <table className="rescue-table">
        <thead>
          <tr>
            <td />
            <th scope="col">before</th>
            <th scope="col">after</th>
          </tr>
        </thead>
        <tbody>
          {ROWS.map(({ label, text }) => (
            <tr key={label}>
              <th scope="row">{label}</th>
              <td>{text(before)}</td>
              <td>{text(plan.after)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <table className="rescue-table rescue-ladder">
        <caption>Try on an edge of the picture first, from the top; stop at the first that clears.</caption>
        <tbody>
          {plan.ladder.map(({ power, words }) => (
            <tr key={power} className={power === plan.pass.lightEndPower ? 'rescue-proposed' : undefined}>
              <th scope="row">{Number((100 * power).toFixed(2))} %</th>
              <td>{words}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
