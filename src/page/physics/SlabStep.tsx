import { LengthControl } from '../fields/LengthControl.tsx';
import { More } from '../fields/More.tsx';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { changeSlab } from '../store/piece-edits.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { setSession, useSessionStore } from '../store/session-store.ts';
import { SlabPhotoButton } from '../vision/slab/SlabPhotoButton.tsx';
import { CheckList } from './CheckList.tsx';
import { EdgeControls } from './EdgeControls.tsx';
import { GrainControls } from './GrainControls.tsx';
import { KnotList } from './KnotList.tsx';
import { SpeciesChoice } from './SpeciesChoice.tsx';
import { WarpControls } from './WarpControls.tsx';
import { WoodControls } from './WoodControls.tsx';

export function SlabStep() {
  const slab = usePieceStore((state) => state.piece.slab);
  const units = useSessionStore((state) => state.units);
  return (
    <>
      <SlabPhotoButton />
      {slab.photo && slab.shape === 'outline' && (
        <PairSwitch
          label="Bare wood"
          value={slab.photo.shown ? 'photographed' : 'grown'}
          options={[
            { id: 'photographed', label: 'Photographed' },
            { id: 'grown', label: 'Grown' },
          ]}
          onChange={(id) => slab.photo && changeSlab({ photo: { ...slab.photo, shown: id === 'photographed' } })}
          hint="Shown as you photographed it, or as the model grows it. The burn is computed the same."
        />
      )}
      <SpeciesChoice />
      <PairSwitch
        label="Cut"
        value={slab.cut}
        options={[
          { id: 'slice', label: 'Slice' },
          { id: 'plank', label: 'Plank' },
        ]}
        onChange={(cut) => changeSlab({ cut })}
        hint={
          slab.cut === 'slice'
            ? 'Across the trunk: rings run round the pith.'
            : 'Along the trunk: grain runs along the width.'
        }
      />
      <PairSwitch
        label="Face"
        value={slab.finish}
        options={[
          { id: 'sanded', label: 'Sanded' },
          { id: 'as-sawn', label: 'As sawn' },
        ]}
        onChange={(finish) => changeSlab({ finish })}
        hint="Saw marks make the coats uneven, and the burn blotchy; sanding takes most of them away."
      />
      <PairSwitch
        label="Outline"
        value={slab.shape}
        options={[
          { id: 'oval', label: 'Oval' },
          { id: 'rectangle', label: 'Rectangle' },
          ...(slab.outlineMm.length > 0 ? [{ id: 'outline' as const, label: 'Drawn' }] : []),
        ]}
        onChange={(shape) => changeSlab({ shape })}
        hint="Nothing is burned beside the slab."
      />
      <LengthControl
        label="Width"
        hint="From rim to rim, along the picture’s width."
        valueMm={slab.widthMm}
        onChange={(widthMm) => changeSlab({ widthMm })}
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
        onChange={(heightMm) => changeSlab({ heightMm })}
        lowMm={5}
        highMm={3000}
        sliderLowMm={50}
        sliderHighMm={600}
        stepMm={1}
      />
      <div className="folds">
        <More label="Knots" note={count(slab.knots.length)}>
          <KnotList />
        </More>
        <More label="Drying checks" note={count(slab.checks.length)}>
          <CheckList />
        </More>
        <More label="Grain and rings">
          <GrainControls slab={slab} />
        </More>
        <More label="Edge, thickness, taped rim">
          <EdgeControls slab={slab} />
        </More>
        <More label="Warp">
          <WarpControls slab={slab} />
        </More>
        <More label="More about the wood">
          <WoodControls wood={slab.wood} />
        </More>
      </div>
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

const count = (items: number): string => (items === 0 ? 'none' : String(items));
