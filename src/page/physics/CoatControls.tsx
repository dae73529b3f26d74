import { useMemo } from 'react';
import { Button } from 'react-aria-components';
import type { Coat } from '../../piece/schema.ts';
import { LayingControls } from '../fields/LayingControls.tsx';
import { More } from '../fields/More.tsx';
import { NameControl } from '../fields/NameControl.tsx';
import { SwitchControl } from '../fields/SwitchControl.tsx';
import { ThicknessHelper } from '../fields/ThicknessHelper.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { changeStack } from '../store/piece-edits.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { CoatColor } from './CoatColor.tsx';
import { CoatDetails } from './CoatDetails.tsx';
import { hidingWords } from './hiding-words.ts';
import { layerWords } from './layer-words.ts';

/** One coat of the stack. */
export function CoatControls({ index }: { index: number }) {
  const coats = usePieceStore((state) => state.piece.stack.coats);
  const wood = usePieceStore((state) => state.piece.slab.wood);
  const coat = coats[index];
  const title = index === 0 ? 'Top coat' : index === coats.length - 1 ? 'Undercoat' : `Coat ${coats.length - index}`;
  const edit = (part: Partial<Coat>) =>
    changeStack((old) => ({ ...old, coats: old.coats.map((one, i) => (i === index ? { ...one, ...part } : one)) }));
  const warning = layerWords(coat);
  return (
    <section className="coat" aria-label={title}>
      <header>
        <h3>{title}</h3>
        <Button
          className="quiet"
          onPress={() => changeStack((old) => ({ ...old, coats: old.coats.filter((_, i) => i !== index) }))}
        >
          Remove
        </Button>
      </header>
      <NameControl label="Name" value={coat.name} onChange={(name) => edit({ name })} />
      <CoatColor coat={coat} wood={wood} onTop={index === 0} onChange={edit} />
      <ValueControl
        label="Dry thickness"
        hint="A thicker coat takes more power to get through."
        unit="µm"
        value={coat.dryThicknessUm}
        onChange={(dryThicknessUm) => edit({ dryThicknessUm })}
        low={0}
        high={1000}
        sliderHigh={120}
        step={1}
        digits={1}
      />
      {warning && <p className="warning">{warning}</p>}
      <HidingLine coats={coats} index={index} />
      <More label="Layers: work out the thickness">
        <ThicknessHelper coat={coat} onChange={edit} />
      </More>
      <LayingControls coat={coat} onChange={edit} />
      <SwitchControl
        label="Rubbed down when dry"
        hint="Takes off most of the wood’s grain that stands out on it, so that the next coat lies more evenly."
        value={coat.sandedAfter}
        onChange={(sandedAfter) => edit({ sandedAfter })}
      />
      <ValueControl
        label="Unevenness, slow"
        hint="What no stroke explains, over centimetres: thick places stay blotchy first."
        unit="%"
        value={100 * coat.slowVariation}
        onChange={(percent) => edit({ slowVariation: percent / 100 })}
        low={0}
        high={50}
        sliderHigh={25}
        step={0.5}
        digits={1}
      />
      <More label="More about this coat">
        <CoatDetails coat={coat} onChange={edit} />
      </More>
    </section>
  );
}

/** What still shows through a coat, in words. */
function HidingLine({ coats, index }: { coats: readonly Coat[]; index: number }) {
  const wood = usePieceStore((state) => state.piece.slab.wood);
  const knots = usePieceStore((state) => state.piece.slab.knots);
  const text = useMemo(() => hidingWords(coats, index, { wood, knots }), [coats, index, wood, knots]);
  return <p className="plain">{text}</p>;
}
