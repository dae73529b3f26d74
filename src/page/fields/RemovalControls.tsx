import type { Coat, Wood } from '../../piece/schema.ts';
import { ValueControl } from './ValueControl.tsx';

type Removal = Pick<Coat & Wood, 'absorptance' | 'thresholdJPerMm2' | 'specificEnergyJPerMm3' | 'scorchOnsetJPerMm2'>;

/** How a layer, coat or wood, answers the beam. */
export function RemovalControls({ layer, onChange }: { layer: Removal; onChange: (part: Partial<Removal>) => void }) {
  return (
    <>
      <ValueControl
        label="Absorptance"
        hint="Share of the beam that is taken up; a light coat reflects a blue beam and is spared."
        unit="%"
        value={100 * layer.absorptance}
        onChange={(percent) => onChange({ absorptance: percent / 100 })}
        low={0}
        high={100}
        step={1}
        digits={1}
      />
      <ValueControl
        label="Threshold dose"
        hint="Absorbed dose per crossing below which nothing comes off."
        unit="J/mm²"
        value={layer.thresholdJPerMm2}
        onChange={(thresholdJPerMm2) => onChange({ thresholdJPerMm2 })}
        low={0}
        high={10}
        sliderHigh={0.4}
        step={0.001}
        digits={4}
      />
      <ValueControl
        label="Specific energy"
        hint="Energy to take off a volume once past the threshold; higher is tougher."
        unit="J/mm³"
        value={layer.specificEnergyJPerMm3}
        onChange={(specificEnergyJPerMm3) => onChange({ specificEnergyJPerMm3 })}
        low={0.1}
        high={1000}
        sliderHigh={40}
        step={0.1}
        digits={2}
      />
      <ValueControl
        label="Scorch onset"
        hint="Absorbed dose from which it discolours."
        unit="J/mm²"
        value={layer.scorchOnsetJPerMm2}
        onChange={(scorchOnsetJPerMm2) => onChange({ scorchOnsetJPerMm2 })}
        low={0}
        high={100}
        sliderHigh={0.5}
        step={0.001}
        digits={3}
      />
    </>
  );
}
