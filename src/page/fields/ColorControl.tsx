import './color-control.css';
import type { Lab } from '../../base/color/lab.ts';
import { ColorSwatch } from './ColorSwatch.tsx';
import { LabFields } from './LabFields.tsx';
import { More } from './More.tsx';
import { PatchReader } from './PatchReader.tsx';
import { WantedTint } from './WantedTint.tsx';

interface ColorControlProps {
  label: string;
  hint: string;
  lab: Lab;
  onChange: (lab: Lab) => void;
  /** Unfolds to numbers and to a photograph; so it does wherever a tint can be wanted. */
  inFull?: boolean;
  /** The tint that was meant; null if that is of no interest. */
  wanted?: Lab | null;
  onWantedChange?: (wanted: Lab | null) => void;
}

/** A colour: picked, typed in, or read off a photograph; and how near it is to the one that was meant. Kept as L*a*b* D65. */
export function ColorControl(props: ColorControlProps) {
  const { label, hint, lab, onChange, wanted = null, onWantedChange, inFull = onWantedChange !== undefined } = props;
  const swatch = <ColorSwatch label={label} hint={hint} lab={lab} onChange={onChange} />;
  if (!inFull) return swatch;
  const change = (next: Lab) => onChange(held(next));
  return (
    <div className="color-full">
      {swatch}
      {onWantedChange && (
        <WantedTint lab={lab} wanted={wanted} onChange={(next) => onWantedChange(next === null ? null : held(next))} />
      )}
      <More label="By numbers or from a photograph">
        <LabFields lab={lab} onChange={change} />
        <PatchReader current={lab} onTake={change} />
      </More>
    </div>
  );
}

/** Within what a piece can keep. */
const held = ([l, a, b]: Lab): Lab => [within(l, 0, 100), within(a, -128, 128), within(b, -128, 128)];
const within = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));
