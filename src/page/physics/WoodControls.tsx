import { Button } from 'react-aria-components';
import type { Wood } from '../../piece/schema.ts';
import { speciesOf, woodOf } from '../../piece/species.ts';
import { ColorControl } from '../fields/ColorControl.tsx';
import { NameControl } from '../fields/NameControl.tsx';
import { RemovalControls } from '../fields/RemovalControls.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { changeWood, woodAt } from '../store/piece-edits.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** The wood's colour and how it answers the beam. */
export function WoodControls({ wood }: { wood: Wood }) {
  const wavelengthNm = usePieceStore((state) => state.piece.machine.source.wavelengthNm);
  const species = speciesOf(wood);
  return (
    <>
      <NameControl label="Name" value={wood.name} onChange={(name) => changeWood({ name })} />
      <ColorControl
        label="Colour"
        hint="Seen at the rim, and where a burn goes through every coat."
        lab={wood.colorLab}
        onChange={(colorLab) => changeWood({ colorLab })}
      />
      <ValueControl
        label="Density"
        hint="As dry as it is burned: dense wood warms less from row to row."
        unit="kg/m³"
        value={wood.densityKgPerM3}
        onChange={(densityKgPerM3) => changeWood({ densityKgPerM3 })}
        low={50}
        high={1500}
        sliderLow={200}
        sliderHigh={1000}
        step={10}
        digits={0}
      />
      <ValueControl
        label="Darkened at most by"
        hint="Lightness that charring takes off in the end: how black a burn on bare wood gets."
        unit="L*"
        value={wood.lightnessLoss}
        onChange={(lightnessLoss) => changeWood({ lightnessLoss })}
        low={0}
        high={100}
        step={0.5}
        digits={1}
      />
      <RemovalControls layer={wood} onChange={changeWood} />
      {species && !isUsual(wood, woodOf(species)) && (
        <Button className="wide" onPress={() => changeWood(woodAt(species, wavelengthNm))}>
          Back to what is usual for {wood.name.toLowerCase()}
        </Button>
      )}
    </>
  );
}

/** Whether the numbers are the species' own; absorptance apart, which is the source's matter too. */
const isUsual = (wood: Wood, usual: Wood): boolean =>
  JSON.stringify(sorted({ ...wood, absorptance: 0 })) === JSON.stringify(sorted({ ...usual, absorptance: 0 }));

const sorted = (wood: Wood) => Object.entries(wood).sort(([a], [b]) => a.localeCompare(b));
