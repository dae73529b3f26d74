import type { Quantity } from '../../base/quantity.ts';
import { type FieldPath, fieldOf, valueAt } from '../../piece/fields.ts';
import { setField, usePieceStore } from '../store/piece-store.ts';
import { ValueControl } from './ValueControl.tsx';

interface FieldProps extends Partial<Pick<Quantity, 'sliderLow' | 'sliderHigh'>> {
  of: FieldPath;
  hint: string;
  currency?: string;
  /** Where more changes than the field itself. */
  onChange?: (value: number) => void;
}

/** A field of the piece. Its label, range, unit and steps stand in the schema; only a slider's reach may depend on the piece. */
export function Field({ of, hint, currency, onChange, ...slider }: FieldProps) {
  const value = usePieceStore((state) => valueAt(state.piece, of));
  if (value === null) return null;
  return (
    <ValueControl
      of={{ ...fieldOf(of), ...slider }}
      hint={hint}
      value={value}
      onChange={onChange ?? ((next) => setField(of, next))}
      currency={currency}
    />
  );
}

/** How a layer, coat or wood, answers the beam. */
export function RemovalControls({ of }: { of: `stack.coats.${number}` | 'slab.wood' }) {
  return (
    <>
      <Field
        of={`${of}.absorptance`}
        hint="Share of the beam that is taken up; a light coat reflects a blue beam and is spared."
      />
      <Field of={`${of}.thresholdJPerMm2`} hint="Absorbed dose per crossing below which nothing comes off." />
      <Field
        of={`${of}.specificEnergyJPerMm3`}
        hint="Energy to take off a volume once past the threshold; higher is tougher."
      />
      <Field of={`${of}.scorchOnsetJPerMm2`} hint="Absorbed dose from which it discolours." />
    </>
  );
}
