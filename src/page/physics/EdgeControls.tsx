import type { Slab } from '../../piece/schema.ts';
import { LengthControl } from '../fields/LengthControl.tsx';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { changeSlab } from '../store/piece-edits.ts';

/** Thickness, rim and what was taped off. */
export function EdgeControls({ slab }: { slab: Slab }) {
  return (
    <>
      <PairSwitch
        label="Edge"
        value={slab.edge}
        options={[
          { id: 'bark', label: 'Bark' },
          { id: 'sawn', label: 'Sawn' },
        ]}
        onChange={(edge) => changeSlab({ edge })}
        hint="Bark frames the slab dark and rough; a sawn edge is bare wood."
      />
      <LengthControl
        label="Thickness"
        hint="Shown in the view; the burn only scratches the surface."
        valueMm={slab.thicknessMm}
        onChange={(thicknessMm) => changeSlab({ thicknessMm })}
        lowMm={1}
        highMm={200}
        sliderLowMm={5}
        sliderHighMm={60}
        stepMm={1}
      />
      <LengthControl
        label="Taped rim"
        hint="Masked while painting: it stays bare wood, which darkens where it is burned."
        valueMm={slab.maskedRimMm}
        onChange={(maskedRimMm) => changeSlab({ maskedRimMm })}
        lowMm={0}
        highMm={200}
        sliderHighMm={40}
        stepMm={0.5}
      />
      <LengthControl
        label="Seep under the tape"
        hint="How far paint creeps under it: frays the line between coats and bare wood."
        valueMm={slab.seepMm}
        onChange={(seepMm) => changeSlab({ seepMm })}
        lowMm={0}
        highMm={10}
        sliderHighMm={3}
        stepMm={0.1}
        digits={2}
      />
    </>
  );
}
