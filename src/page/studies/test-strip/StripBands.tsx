import { Button } from 'react-aria-components';
import type { StripOrder } from '../../../studies/test-strip/strip-order.ts';
import { duration, percent } from '../../burn/words.ts';
import type { TestStripAnswer } from '../../burn/worker/questions.ts';
import { inBackground } from '../../faults/tell-fault.ts';
import { ChoiceControl } from '../../fields/ChoiceControl.tsx';
import { setStrip, useStripStore } from './strip-store.ts';
import { saveStrip, takeStripIn } from './test-strip.ts';

interface StripBandsProps {
  strip: TestStripAnswer;
  order: StripOrder;
  /** The piece has changed since, so an answer would not be about it. */
  stale: boolean;
}

/** The strip as it will look, what each band comes out as, and what the maker saw once it was burned. */
export function StripBands({ strip, order, stale }: StripBandsProps) {
  const { pictureUrl, clears, scorches, busy } = useStripStore();
  const unit = order.vary === 'power' ? '%' : 'mm/min';
  const bands = strip.bands.map(({ band }) => ({
    id: String(band.number),
    label: `Band ${band.number}, ${band.label} ${unit}`,
  }));
  const unseen = { id: '-1', label: 'Not looked yet' };
  const none = { id: '0', label: 'None of them' };
  return (
    <section className="rescue" aria-label="The test strip">
      {pictureUrl && (
        <img className="strip-picture" src={pictureUrl} alt="The strip as it will look, first band at the top" />
      )}
      <table className="rescue-table">
        <thead>
          <tr>
            <th scope="col">band</th>
            <th scope="col">{unit}</th>
            <th scope="col">uncleared</th>
            <th scope="col">scorched</th>
          </tr>
        </thead>
        <tbody>
          {strip.bands.map(({ band, uncleared, scorched }) => (
            <tr key={band.number}>
              <th scope="row">{band.number}</th>
              <td>{band.label}</td>
              <td>{uncleared === null ? 'no light' : percent(uncleared)}</td>
              <td>{percent(scorched)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p className="small-print">
        Scrap of {strip.widthMm} × {strip.heightMm} mm, {duration(strip.burnTimeS)}. Open the saved strip like any piece
        to get its machine files.
      </p>
      <div className="suggestion-actions">
        <Button onPress={saveStrip}>Save the strip</Button>
      </div>
      <h4 className="strip-answer">Once it is burned</h4>
      <ChoiceControl
        label="The first band that is clear"
        hint="Light areas without blotches or veil, seen from where the piece will be seen."
        value={String(clears)}
        choices={[unseen, ...bands, none]}
        onChange={(id) => setStrip({ clears: Number(id) })}
      />
      <ChoiceControl
        label="The first band that is scorched"
        hint="Yellow or brown where the undercoat shows. May be left open."
        value={String(scorches)}
        choices={[unseen, ...bands, none]}
        onChange={(id) => setStrip({ scorches: Number(id) })}
      />
      <Button
        className="wide"
        isDisabled={clears < 0 || stale || busy !== null}
        onPress={() => inBackground(takeStripIn())}
      >
        Take it in
      </Button>
    </section>
  );
}
