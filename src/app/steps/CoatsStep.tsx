import { useMemo } from 'react';
import { Button } from 'react-aria-components';
import { contrastRatio, HIDING_CONTRAST, layersToHide } from '../../core/material/hiding.ts';
import { DEFAULT_TOP_COAT } from '../../core/piece/defaults.ts';
import type { Coat, Stack } from '../../core/piece/schema.ts';
import { ColorControl } from '../controls/ColorControl.tsx';
import { LayingControls } from '../controls/LayingControls.tsx';
import { More } from '../controls/More.tsx';
import { NameControl } from '../controls/NameControl.tsx';
import { RemovalControls } from '../controls/RemovalControls.tsx';
import { ThicknessHelper } from '../controls/ThicknessHelper.tsx';
import { ValueControl } from '../controls/ValueControl.tsx';
import { changeStack } from '../piece-edits.ts';
import { usePieceStore } from '../stores/piece-store.ts';

const MOST_COATS = 8;

export function CoatsStep() {
  const stack = usePieceStore((state) => state.piece.stack);
  const coats = stack.coats;
  const editCoat = (index: number, part: Partial<Coat>) =>
    changeStack((old) => ({ ...old, coats: old.coats.map((coat, i) => (i === index ? { ...coat, ...part } : coat)) }));
  return (
    <>
      {coats.length === 0 && (
        <p className="plain">Bare wood: the beam darkens it, so the dark tones are burned and the light ones left.</p>
      )}
      {coats.map((coat, index) => (
        <section
          // biome-ignore lint/suspicious/noArrayIndexKey: coats have no identity but their place
          key={index}
          className="coat"
          aria-label={coatTitle(index, coats.length)}
        >
          <header>
            <h3>{coatTitle(index, coats.length)}</h3>
            <Button
              className="quiet"
              onPress={() => changeStack((old) => ({ ...old, coats: old.coats.filter((_, i) => i !== index) }))}
            >
              Remove
            </Button>
          </header>
          <NameControl label="Name" value={coat.name} onChange={(name) => editCoat(index, { name })} />
          <ColorControl
            label="Colour"
            hint="Of the dry coat where it hides what is under it."
            lab={coat.colorLab}
            onChange={(colorLab) => editCoat(index, { colorLab })}
          />
          <ValueControl
            label="Dry thickness"
            hint="A thicker coat takes more power to get through."
            unit="µm"
            value={coat.dryThicknessUm}
            onChange={(dryThicknessUm) => editCoat(index, { dryThicknessUm })}
            low={0}
            high={1000}
            sliderHigh={120}
            step={1}
            digits={1}
          />
          <HidingLine coat={coat} />
          <More label="Work out the thickness">
            <ThicknessHelper coat={coat} onChange={(part) => editCoat(index, part)} />
          </More>
          <LayingControls coat={coat} onChange={(part) => editCoat(index, part)} />
          <ValueControl
            label="Unevenness, slow"
            hint="What no stroke explains, over centimetres: thick places stay blotchy first."
            unit="%"
            value={100 * coat.slowVariation}
            onChange={(percent) => editCoat(index, { slowVariation: percent / 100 })}
            low={0}
            high={50}
            sliderHigh={25}
            step={0.5}
            digits={1}
          />
          <More label="More about this coat">
            <CoatDetails coat={coat} onChange={(part) => editCoat(index, part)} />
          </More>
        </section>
      ))}
      <Button
        className="wide"
        isDisabled={coats.length >= MOST_COATS}
        onPress={() =>
          changeStack((old) => ({ ...old, coats: [{ ...DEFAULT_TOP_COAT, name: 'New coat' }, ...old.coats] }))
        }
      >
        Add a coat on top
      </Button>
      <More label="Where the film is uneven">
        <FilmControls stack={stack} />
      </More>
    </>
  );
}

const coatTitle = (index: number, count: number): string =>
  index === 0 ? 'Top coat' : index === count - 1 ? 'Undercoat' : `Coat ${count - index}`;

/** Whether what lies under a coat still shows through it, in words. */
function HidingLine({ coat }: { coat: Coat }) {
  const text = useMemo(() => {
    const ratio = contrastRatio(coat, coat.dryThicknessUm);
    if (ratio >= HIDING_CONTRAST) return `It hides what is under it (contrast ratio ${ratio.toFixed(2)}).`;
    const needed = layersToHide(coat);
    const rest =
      needed === null ? 'and more layers of it will not change that' : `it would take ${needed} layers like these`;
    return `Knots and dark wood show through (contrast ratio ${ratio.toFixed(2)}, ${HIDING_CONTRAST} hides); ${rest}.`;
  }, [coat]);
  return <p className="plain">{text}</p>;
}

function CoatDetails({ coat, onChange }: { coat: Coat; onChange: (part: Partial<Coat>) => void }) {
  return (
    <>
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

function FilmControls({ stack }: { stack: Stack }) {
  const edit = (part: Partial<Stack['film']>) => changeStack((old) => ({ ...old, film: { ...old.film, ...part } }));
  return (
    <>
      <p className="plain">
        Where exactly a film is thick is not known before it is measured. This is one likely film; try others to see
        what may come.
      </p>
      <ValueControl
        label="Likely film no."
        hint="Another number, another film of the same kind."
        unit=""
        value={stack.film.seed}
        onChange={(seed) => edit({ seed: Math.round(seed) })}
        low={0}
        high={4294967295}
        sliderHigh={50}
        step={1}
        digits={0}
      />
      <ValueControl
        label="Size of slow waves"
        hint="Spray overlaps and runs are a few centimetres apart."
        unit="mm"
        value={stack.film.slowScaleMm}
        onChange={(slowScaleMm) => edit({ slowScaleMm })}
        low={1}
        high={500}
        sliderHigh={120}
        step={1}
        digits={1}
      />
      <ValueControl
        label="Size of fine waves"
        hint="Orange peel and grain are a millimetre or so."
        unit="mm"
        value={stack.film.fineScaleMm}
        onChange={(fineScaleMm) => edit({ fineScaleMm })}
        low={0.1}
        high={50}
        sliderHigh={6}
        step={0.1}
        digits={1}
      />
    </>
  );
}
