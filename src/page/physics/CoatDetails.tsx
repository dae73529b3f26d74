import type { Coat } from '../../piece/schema.ts';
import { RemovalControls } from '../fields/RemovalControls.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';

/** What of a coat matters less. */
export function CoatDetails({ coat, onChange }: { coat: Coat; onChange: (part: Partial<Coat>) => void }) {
  const [low, high] = coat.usualLayerUm;
  return (
    <>
      <ValueControl
        label="Usual layer, least"
        hint="Dry, on the paint’s data sheet; layers thinner than this may not close."
        unit="µm"
        value={low}
        onChange={(um) => onChange({ usualLayerUm: [um, Math.max(um, high)] })}
        low={0}
        high={1000}
        sliderHigh={100}
        step={1}
        digits={1}
      />
      <ValueControl
        label="Usual layer, most"
        hint="Dry, on the paint’s data sheet; layers thicker than this stay soft underneath."
        unit="µm"
        value={high}
        onChange={(um) => onChange({ usualLayerUm: [Math.min(low, um), um] })}
        low={0}
        high={1000}
        sliderHigh={100}
        step={1}
        digits={1}
      />
      <ValueControl
        label="Unevenness, fine"
        hint="Spread over millimetres: it shows as mottle."
        unit="%"
        value={100 * coat.fineVariation}
        onChange={(percent) => onChange({ fineVariation: percent / 100 })}
        low={0}
        high={50}
        sliderHigh={25}
        step={0.5}
        digits={1}
      />
      <RemovalControls layer={coat} onChange={onChange} />
      <ValueControl
        label="Hiding (scattering)"
        hint="How strongly it hides what is under it."
        unit="1/mm"
        value={coat.scatteringPerMm}
        onChange={(scatteringPerMm) => onChange({ scatteringPerMm })}
        low={0.1}
        high={1000}
        sliderHigh={250}
        step={1}
        digits={1}
      />
      <ValueControl
        label="Gloss at 60°"
        hint="Satin is 20 to 35; a matte coat below 10."
        unit="GU"
        value={coat.gloss60}
        onChange={(gloss60) => onChange({ gloss60 })}
        low={0}
        high={100}
        step={1}
        digits={0}
      />
    </>
  );
}
