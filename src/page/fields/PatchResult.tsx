import { Button } from 'react-aria-components';
import { differenceWords } from '../../base/color/difference-words.ts';
import { colorDifference, type Lab, labToHex } from '../../base/color/lab.ts';
import type { PatchReading } from '../../base/color/patch.ts';

interface PatchResultProps {
  reading: PatchReading | null;
  current: Lab;
  onTake: (lab: Lab) => void;
}

/** What a photograph says about the paint, beside the colour now; or why it says nothing. */
export function PatchResult({ reading, current, onTake }: PatchResultProps) {
  return (
    <div className="patch-reading">
      <div role="status">
        {reading?.kind === 'refused' && <p className="warning">{reading.reason}</p>}
        {reading?.kind === 'color' && <Found lab={reading.lab} spread={reading.spread} current={current} />}
      </div>
      {reading?.kind === 'color' && (
        <Button className="wide" onPress={() => onTake(reading.lab)}>
          Take this colour
        </Button>
      )}
    </div>
  );
}

function Found({ lab, spread, current }: { lab: Lab; spread: number; current: Lab }) {
  const away = colorDifference(lab, current);
  return (
    <>
      <p className="patch-pair">
        <i style={{ background: labToHex(lab) }} aria-hidden="true" />
        <i style={{ background: labToHex(current) }} aria-hidden="true" />
        <span>
          L* {lab[0].toFixed(1)} a* {lab[1].toFixed(1)} b* {lab[2].toFixed(1)}
        </span>
      </p>
      <p className="plain">
        ΔE00 {away.toFixed(1)} from the colour now (right): {differenceWords(away)}. Within the rectangle it varies by
        ΔE {spread.toFixed(1)}.
      </p>
    </>
  );
}
