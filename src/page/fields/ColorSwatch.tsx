import { useEffect, useId, useState } from 'react';
import { hexToLab, type Lab, labToHex } from '../../base/color/lab.ts';

interface ColorSwatchProps {
  label: string;
  hint: string;
  lab: Lab;
  onChange: (lab: Lab) => void;
}

/** A colour by the browser's own picker. Quick moves in the picker are gathered before they are passed on. */
export function ColorSwatch({ label, hint, lab, onChange }: ColorSwatchProps) {
  const id = useId();
  const settled = labToHex(lab);
  const [shown, setShown] = useState(settled);
  useEffect(() => setShown(settled), [settled]);
  useEffect(() => {
    if (shown === settled) return;
    const timer = setTimeout(() => onChange(hexToLab(shown)), 120);
    return () => clearTimeout(timer);
  });
  const [l, a, b] = lab;
  return (
    <div className="color-control">
      <label htmlFor={id}>{label}</label>
      <span className="color-box">
        <input
          id={id}
          type="color"
          value={shown}
          onChange={(event) => setShown(event.target.value)}
          aria-describedby={`${id}-hint`}
        />
        <span className="unit">
          L* {l.toFixed(0)} a* {a.toFixed(0)} b* {b.toFixed(0)}
        </span>
      </span>
      <p className="hint" id={`${id}-hint`}>
        {hint}
      </p>
    </div>
  );
}
