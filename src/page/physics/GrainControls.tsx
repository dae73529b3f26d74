import { Button } from 'react-aria-components';
import type { Slab } from '../../piece/schema.ts';
import { LengthControl } from '../fields/LengthControl.tsx';
import { PlaceControls } from '../fields/PlaceControls.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { changeSlab, changeWood } from '../store/piece-edits.ts';

const MOST_GRAINS = 4294967295;

/** Where the rings run and how much they tell. */
export function GrainControls({ slab }: { slab: Slab }) {
  const { wood, grainSeed } = slab;
  return (
    <>
      <Button className="wide" onPress={() => changeSlab({ grainSeed: grainSeed >= MOST_GRAINS ? 0 : grainSeed + 1 })}>
        Another likely grain
      </Button>
      <p className="hint">
        Grain no. {grainSeed}. No two slabs grow alike: try some, and see whether their rings blotch the picture.
      </p>
      {slab.cut === 'slice' && (
        <PlaceControls
          what="The pith, which the rings run round,"
          place={{ xMm: slab.pithXMm, yMm: slab.pithYMm }}
          onChange={({ xMm = slab.pithXMm, yMm = slab.pithYMm }) => changeSlab({ pithXMm: xMm, pithYMm: yMm })}
          reachXMm={slab.widthMm / 2}
          reachYMm={slab.heightMm / 2}
        />
      )}
      <LengthControl
        label="Ring width"
        hint="A year’s growth; wide rings make broad bands in a burn."
        valueMm={wood.ringWidthMm}
        onChange={(ringWidthMm) => changeWood({ ringWidthMm })}
        lowMm={0.2}
        highMm={30}
        sliderHighMm={8}
        stepMm={0.1}
      />
      <ValueControl
        label="Ring contrast"
        hint="Density of latewood over earlywood: the denser takes more power and burns less deep."
        unit="×"
        value={wood.ringContrast}
        onChange={(ringContrast) => changeWood({ ringContrast })}
        low={1}
        high={4}
        step={0.05}
      />
      <ValueControl
        label="Ring darkness"
        hint="How much darker latewood is: it shows through thin coats."
        unit="L*"
        value={wood.ringLightness}
        onChange={(ringLightness) => changeWood({ ringLightness })}
        low={0}
        high={40}
        sliderHigh={20}
        step={0.5}
        digits={1}
      />
      <ValueControl
        label="Relief, sanded"
        hint="Height of the grain after sanding; paint fills its valleys and lies thin on its ridges."
        unit="µm"
        value={wood.sandedReliefUm}
        onChange={(sandedReliefUm) => changeWood({ sandedReliefUm })}
        low={0}
        high={500}
        sliderHigh={30}
        step={0.5}
        digits={1}
      />
      <ValueControl
        label="Relief, as sawn"
        hint="With the marks of the saw; where they stay, the coats are as uneven."
        unit="µm"
        value={wood.sawnReliefUm}
        onChange={(sawnReliefUm) => changeWood({ sawnReliefUm })}
        low={0}
        high={500}
        sliderHigh={100}
        step={1}
        digits={1}
      />
    </>
  );
}
