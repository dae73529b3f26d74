import { labToHex } from '../../../base/color/lab.ts';
import { type Card, powerOf } from '../../../vision/card/card.ts';
import type { CardReading } from '../../../vision/card/reading.ts';
import { useCalibrate } from './calibrate-store.ts';

/** What was read beside what was expected. */
export function PatchTable({ card, reading }: { card: Card; reading: CardReading }) {
  const looks = useCalibrate((state) => state.looks);
  const patches = reading.patches
    .map((seen) => ({ seen, patch: card.patches.find(({ id }) => id === seen.id) }))
    .sort((a, b) => Number(a.patch?.label) - Number(b.patch?.label));
  return (
    <div className="cal-patches">
      {patches.length > 0 && (
        <table>
          <caption>
            {patches.length} of {card.patches.length} patches, lightness L*
          </caption>
          <thead>
            <tr>
              <th scope="col">Patch</th>
              <th scope="col">Power</th>
              <th scope="col">Read</th>
              <th scope="col">Expected</th>
            </tr>
          </thead>
          <tbody>
            {patches.map(({ seen, patch }) => {
              const expected = looks?.patches[seen.id];
              return (
                <tr key={seen.id}>
                  <th scope="row">{patch?.label}</th>
                  <td>{patch && (100 * powerOf(patch.burns[patch.burns.length - 1])).toFixed(0)} %</td>
                  <td>
                    <i style={{ background: labToHex(seen.lab) }} />
                    {seen.lab[0].toFixed(1)}
                  </td>
                  <td>
                    {expected && (
                      <>
                        <i style={{ background: labToHex(expected) }} />
                        {expected[0].toFixed(1)}
                      </>
                    )}
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      )}
      {reading.lines.length > 0 && (
        <table>
          <caption>Widths of {reading.lines.length} lines, mm</caption>
          <thead>
            <tr>
              <th scope="col">Line</th>
              <th scope="col">Read</th>
              <th scope="col">Expected</th>
            </tr>
          </thead>
          <tbody>
            {reading.lines.map(({ id, widthMm }) => (
              <tr key={id}>
                <th scope="row">{id}</th>
                <td>{widthMm.toFixed(3)}</td>
                <td>{looks?.lines[id]?.equivalentMm.toFixed(3)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {reading.rowOffset && (
        <p className="plain">Rows burned backwards land {reading.rowOffset.mm.toFixed(2)} mm off.</p>
      )}
    </div>
  );
}
