import type { Check } from '../../piece/schema.ts';
import { ItemList } from '../fields/ItemList.tsx';
import { LengthControl } from '../fields/LengthControl.tsx';
import { PlaceControls } from '../fields/PlaceControls.tsx';
import { SwitchControl } from '../fields/SwitchControl.tsx';
import { useLengthText } from '../fields/use-length-text.ts';
import { ValueControl } from '../fields/ValueControl.tsx';
import { changeSlab } from '../store/piece-edits.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { headingFrom, shownHeading } from './heading.ts';
import { newCheck } from './new-check.ts';

const MOST_CHECKS = 12;

/** Cracks from drying. */
export function CheckList() {
  const slab = usePieceStore((state) => state.piece.slab);
  const length = useLengthText();
  return (
    <ItemList<Check>
      items={slab.checks}
      most={MOST_CHECKS}
      noun="check"
      none="No cracks from drying. An open one breaks the picture with a dark line."
      summary={({ lengthMm, filled }) => `${length(lengthMm)}, ${filled ? 'filled' : 'open'}`}
      create={() => newCheck(slab)}
      onChange={(checks) => changeSlab({ checks })}
    >
      {(check, edit) => (
        <>
          <LengthControl
            label="Length"
            hint="From end to end; it narrows towards both."
            valueMm={check.lengthMm}
            onChange={(lengthMm) => edit({ lengthMm })}
            lowMm={1}
            highMm={1000}
            sliderHighMm={200}
            stepMm={1}
          />
          <PlaceControls
            what="Middle of the check"
            place={check}
            onChange={edit}
            reachXMm={slab.widthMm / 2}
            reachYMm={slab.heightMm / 2}
          />
          <ValueControl
            label="Heading"
            hint="0 runs left to right; turns counter-clockwise."
            unit="°"
            value={shownHeading(check.headingRad)}
            onChange={(deg) => edit({ headingRad: headingFrom(deg) })}
            low={0}
            high={179}
            step={1}
            digits={0}
          />
          <LengthControl
            label="Width"
            hint="Where it is widest; paint bridges only the finest."
            valueMm={check.widthMm}
            onChange={(widthMm) => edit({ widthMm })}
            lowMm={0.05}
            highMm={20}
            sliderHighMm={5}
            stepMm={0.05}
            digits={2}
          />
          <LengthControl
            label="Depth"
            hint="A deep one shows dark wood that no coat reaches."
            valueMm={check.depthMm}
            onChange={(depthMm) => edit({ depthMm })}
            lowMm={0.01}
            highMm={50}
            sliderHighMm={20}
            stepMm={0.1}
            digits={2}
          />
          <SwitchControl
            label="Filled"
            hint="Filled and rubbed flush it hardly shows; the filler sinks in a little as it dries."
            value={check.filled}
            onChange={(filled) => edit({ filled })}
          />
        </>
      )}
    </ItemList>
  );
}
