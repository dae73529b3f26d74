import type { Slab } from '../../core/piece/schema.ts';
import { ColorControl } from '../controls/ColorControl.tsx';
import { LengthControl } from '../controls/LengthControl.tsx';
import { More } from '../controls/More.tsx';
import { NameControl } from '../controls/NameControl.tsx';
import { PairSwitch } from '../controls/PairSwitch.tsx';
import { RemovalControls } from '../controls/RemovalControls.tsx';
import { usePieceStore } from '../stores/piece-store.ts';
import { setSession, useSessionStore } from '../stores/session-store.ts';

export function SlabStep() {
  const slab = usePieceStore((state) => state.piece.slab);
  const change = usePieceStore((state) => state.change);
  const units = useSessionStore((state) => state.units);
  const edit = (part: Partial<Slab>) => change((piece) => ({ ...piece, slab: { ...piece.slab, ...part } }));
  return (
    <>
      <PairSwitch
        label="Outline"
        value={slab.shape}
        options={[
          { id: 'oval', label: 'Oval' },
          { id: 'rectangle', label: 'Rectangle' },
        ]}
        onChange={(shape) => edit({ shape })}
        hint="Nothing is burned beside the slab."
      />
      <LengthControl
        label="Width"
        hint="From rim to rim, along the picture’s width."
        valueMm={slab.widthMm}
        onChange={(widthMm) => edit({ widthMm })}
        lowMm={5}
        highMm={3000}
        sliderLowMm={50}
        sliderHighMm={600}
        stepMm={1}
      />
      <LengthControl
        label="Height"
        hint="From rim to rim, along the picture’s height."
        valueMm={slab.heightMm}
        onChange={(heightMm) => edit({ heightMm })}
        lowMm={5}
        highMm={3000}
        sliderLowMm={50}
        sliderHighMm={600}
        stepMm={1}
      />
      <LengthControl
        label="Thickness"
        hint="Shown in the view; the burn only scratches the surface."
        valueMm={slab.thicknessMm}
        onChange={(thicknessMm) => edit({ thicknessMm })}
        lowMm={1}
        highMm={200}
        sliderLowMm={5}
        sliderHighMm={60}
        stepMm={1}
      />
      <ColorControl
        label="Wood"
        hint="Seen at the rim, and where a burn goes through every coat."
        lab={slab.wood.colorLab}
        onChange={(colorLab) => edit({ wood: { ...slab.wood, colorLab } })}
      />
      <More label="More about the wood">
        <NameControl
          label="Species"
          value={slab.wood.name}
          onChange={(name) => edit({ wood: { ...slab.wood, name } })}
        />
        <RemovalControls layer={slab.wood} onChange={(part) => edit({ wood: { ...slab.wood, ...part } })} />
      </More>
      <PairSwitch
        label="Lengths in"
        value={units}
        options={[
          { id: 'mm', label: 'mm' },
          { id: 'inch', label: 'inches' },
        ]}
        onChange={(next) => setSession({ units: next })}
      />
    </>
  );
}
