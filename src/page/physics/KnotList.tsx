import { degToRad, radToDeg } from '../../base/units.ts';
import type { Knot } from '../../piece/schema.ts';
import { ItemList } from '../fields/ItemList.tsx';
import { LengthControl } from '../fields/LengthControl.tsx';
import { PlaceControls } from '../fields/PlaceControls.tsx';
import { SwitchControl } from '../fields/SwitchControl.tsx';
import { useLengthText } from '../fields/use-length-text.ts';
import { ValueControl } from '../fields/ValueControl.tsx';
import { changeSlab } from '../store/piece-edits.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { newKnot } from './new-knot.ts';

const MOST_KNOTS = 12;
/** What the schema allows, rounded down. */
const MOST_LEAN_DEG = 80;

export function KnotList() {
  const slab = usePieceStore((state) => state.piece.slab);
  const length = useLengthText();
  return (
    <ItemList<Knot>
      items={slab.knots}
      most={MOST_KNOTS}
      noun="knot"
      none="Clear wood. A knot is darker and denser: it shows through thin coats and chars sooner."
      summary={({ diameterMm, filled }) => `${length(diameterMm)}, ${filled ? 'filled' : 'open crack'}`}
      create={() => newKnot(slab)}
      onChange={(knots) => changeSlab({ knots })}
    >
      {(knot, edit) => (
        <>
          <LengthControl
            label="Diameter"
            hint="Across the branch; its wood is darker and chars at a smaller dose."
            valueMm={knot.diameterMm}
            onChange={(diameterMm) => edit({ diameterMm })}
            lowMm={1}
            highMm={300}
            sliderLowMm={2}
            sliderHighMm={80}
            stepMm={1}
          />
          <PlaceControls
            what="Middle of the knot"
            place={knot}
            onChange={edit}
            reachXMm={slab.widthMm / 2}
            reachYMm={slab.heightMm / 2}
          />
          <ValueControl
            label="Lean of the branch"
            hint="0 looks straight at its end grain; more draws it out long."
            unit="°"
            value={radToDeg(knot.tiltRad)}
            onChange={(deg) => edit({ tiltRad: degToRad(deg) })}
            low={0}
            high={MOST_LEAN_DEG}
            step={1}
            digits={0}
          />
          <SwitchControl
            label="Crack filled"
            hint="Open, its drying crack swallows paint and stays dark in the burn."
            value={knot.filled}
            onChange={(filled) => edit({ filled })}
          />
        </>
      )}
    </ItemList>
  );
}
