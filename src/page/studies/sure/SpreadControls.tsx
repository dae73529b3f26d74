import type { Certainty } from '../../../piece/schema.ts';
import { ValueControl } from '../../fields/ValueControl.tsx';
import { changeSpread } from '../../store/piece-edits.ts';
import { usePieceStore } from '../../store/piece-store.ts';

type Spread = Exclude<keyof Certainty, 'source' | 'covariance'>;

const SPREADS: readonly { id: Spread; label: string; hint: string }[] = [
  { id: 'threshold', label: 'Threshold doses', hint: 'Decide at which power the coats begin to come off.' },
  { id: 'specificEnergy', label: 'Specific energies', hint: 'Decide how deep a burn goes once it has begun.' },
  { id: 'thickness', label: 'Film thickness', hint: 'Of the mean; thicker than thought stays uncleared.' },
  { id: 'power', label: 'Power', hint: 'Of what the source gives; lenses get dirty and diodes age.' },
];

/** How far the truth may lie from the numbers. */
export function SpreadControls() {
  const certainty = usePieceStore((state) => state.piece.certainty);
  return (
    <>
      <p className="plain">
        {certainty.source === 'calibrated'
          ? 'Calibrated on a burned card: the spreads are what the card left open.'
          : 'An uncalibrated preset: the spreads are estimates for paints and machines of this kind.'}{' '}
        In two of three cases the truth lies no further off than this; wider spreads make wider bands.
      </p>
      {SPREADS.map(({ id, label, hint }) => (
        <ValueControl
          key={id}
          label={label}
          hint={hint}
          unit="± %"
          value={100 * certainty[id]}
          onChange={(percent) => changeSpread({ [id]: percent / 100 })}
          low={0}
          high={200}
          sliderHigh={60}
          step={1}
          digits={1}
        />
      ))}
    </>
  );
}
