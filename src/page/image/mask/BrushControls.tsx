import { LengthControl } from '../../fields/LengthControl.tsx';
import { PairSwitch } from '../../fields/PairSwitch.tsx';
import type { Brush } from './brush-settings.ts';

interface BrushControlsProps {
  brush: Brush;
  widthMm: number;
  onChange: (brush: Brush) => void;
}

export function BrushControls({ brush, widthMm, onChange }: BrushControlsProps) {
  return (
    <>
      <PairSwitch
        label="Brush"
        value={brush.does}
        options={[
          { id: 'erase', label: 'Take away' },
          { id: 'restore', label: 'Give back' },
        ]}
        onChange={(does) => onChange({ ...brush, does })}
        hint={brush.does === 'erase' ? 'What it goes over stays as painted.' : 'What it goes over is burned again.'}
      />
      <LengthControl
        label="Brush size"
        hint="Across, on the slab."
        valueMm={brush.sizeMm}
        onChange={(sizeMm) => onChange({ ...brush, sizeMm })}
        lowMm={0.5}
        highMm={widthMm}
        sliderHighMm={Math.max(1, widthMm / 3)}
        stepMm={0.5}
      />
      <LengthControl
        label="Soft edge"
        hint="The burn fades out over this width, at the brush’s rim and round the subject."
        valueMm={brush.softMm}
        onChange={(softMm) => onChange({ ...brush, softMm })}
        lowMm={0}
        highMm={100}
        sliderHighMm={Math.max(1, widthMm / 20)}
        stepMm={0.1}
      />
      <p className="hint">
        With keys: arrows move the brush, with Shift further; Space or Enter dabs, with Shift it draws a line from the
        last dab.
      </p>
    </>
  );
}
