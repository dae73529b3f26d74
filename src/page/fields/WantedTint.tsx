import { differenceWords } from '../../base/color/difference-words.ts';
import { colorDifference, type Lab } from '../../base/color/lab.ts';
import { ColorSwatch } from './ColorSwatch.tsx';
import { LabFields } from './LabFields.tsx';
import { More } from './More.tsx';
import { SwitchControl } from './SwitchControl.tsx';

interface WantedTintProps {
  lab: Lab;
  wanted: Lab | null;
  onChange: (wanted: Lab | null) => void;
}

/** The tint that a colour was meant to be, and how far it is from it. */
export function WantedTint({ lab, wanted, onChange }: WantedTintProps) {
  const away = wanted ? colorDifference(lab, wanted) : 0;
  return (
    <>
      <SwitchControl
        label="Compare with a wanted tint"
        hint="How far the dry coat is from what it was meant to be."
        value={wanted !== null}
        onChange={(on) => onChange(on ? lab : null)}
      />
      {wanted && (
        <>
          <ColorSwatch
            label="Meant to be"
            hint={`ΔE00 ${away.toFixed(1)} away: ${differenceWords(away)}.`}
            lab={wanted}
            onChange={onChange}
          />
          <More label="Wanted tint by numbers">
            <LabFields lab={wanted} onChange={onChange} />
          </More>
        </>
      )}
    </>
  );
}
