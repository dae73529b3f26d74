import type { Slab } from '../../piece/schema.ts';
import { LengthControl } from '../fields/LengthControl.tsx';
import { changeSlab } from '../store/piece-edits.ts';

/** How far the face is from flat. */
export function WarpControls({ slab }: { slab: Slab }) {
  return (
    <>
      <LengthControl
        label="Bow along the width"
        hint="Middle over the two ends, negative if it lies lower; out of focus the beam is wider and weaker."
        valueMm={slab.bowMm}
        onChange={(bowMm) => changeSlab({ bowMm })}
        lowMm={-50}
        highMm={50}
        sliderLowMm={-5}
        sliderHighMm={5}
        stepMm={0.1}
      />
      <LengthControl
        label="Dome"
        hint="Middle over the whole rim, negative for a dish: the rim burns unlike the middle."
        valueMm={slab.domeMm}
        onChange={(domeMm) => changeSlab({ domeMm })}
        lowMm={-50}
        highMm={50}
        sliderLowMm={-5}
        sliderHighMm={5}
        stepMm={0.1}
      />
    </>
  );
}
