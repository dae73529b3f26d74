import { Button } from 'react-aria-components';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Tone } from '../../piece/schema.ts';
import { CurveControl } from './CurveControl.tsx';
import { More } from './SheetDialog.tsx';
import { LengthControl, ValueControl } from './ValueControl.tsx';

/** Tone controls of the picture, or of one pass. */
export function ToneControls({ tone, onChange }: { tone: Tone; onChange: (tone: Tone) => void }) {
  const edit = (part: Partial<Tone>) => onChange({ ...tone, ...part });
  const sharpen = (part: Partial<Tone['unsharpMask']>) => edit({ unsharpMask: { ...tone.unsharpMask, ...part } });
  return (
    <>
      <ValueControl
        label="Exposure"
        hint="Brighter opens more of the coat."
        unit="EV"
        value={tone.exposureEv}
        onChange={(exposureEv) => edit({ exposureEv })}
        low={-8}
        high={8}
        sliderLow={-2}
        sliderHigh={2}
        step={0.05}
      />
      <ValueControl
        label="Contrast"
        hint="Pulls lights and darks apart around the middle tone."
        unit="%"
        value={100 * tone.contrast}
        onChange={(percent) => edit({ contrast: percent / 100 })}
        low={-100}
        high={100}
        step={1}
        digits={0}
      />
      <More label="Gamma, curve, sharpening">
        <ValueControl
          label="Gamma"
          hint="Lifts (above 1) or deepens (below 1) the middle tones."
          unit=""
          value={tone.gamma}
          onChange={(gamma) => edit({ gamma })}
          low={0.1}
          high={10}
          sliderLow={0.4}
          sliderHigh={2.5}
          step={0.01}
        />
        <CurveControl
          label="Tone curve"
          hint="Photograph’s lightness from left to right, burned lightness upwards."
          points={tone.curve}
          onChange={(curve) => edit({ curve })}
        />
        <LengthControl
          label="Unsharp mask, radius"
          hint="Crispens edges of about this size; finer than the beam is lost."
          valueMm={tone.unsharpMask.radiusMm}
          onChange={(radiusMm) => sharpen({ radiusMm })}
          lowMm={0}
          highMm={20}
          sliderHighMm={2}
          stepMm={0.05}
          digits={2}
        />
        <ValueControl
          label="Unsharp mask, amount"
          hint="How much edges are crispened."
          unit="%"
          value={100 * tone.unsharpMask.amount}
          onChange={(percent) => sharpen({ amount: percent / 100 })}
          low={0}
          high={500}
          sliderHigh={200}
          step={5}
          digits={0}
        />
        <ValueControl
          label="Unsharp mask, threshold"
          hint="Differences smaller than this are left alone, so that film grain is not burned in."
          unit="%"
          value={100 * tone.unsharpMask.threshold}
          onChange={(percent) => sharpen({ threshold: percent / 100 })}
          low={0}
          high={100}
          sliderHigh={20}
          step={0.5}
          digits={1}
        />
        <Button className="wide" onPress={() => onChange(NEUTRAL_TONE)}>
          Back to the photograph’s own tones
        </Button>
      </More>
    </>
  );
}
