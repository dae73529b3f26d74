import { Field } from './Field.tsx';

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
