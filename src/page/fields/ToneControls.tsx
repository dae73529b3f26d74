import { Button } from 'react-aria-components';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Tone } from '../../piece/schema.ts';
import { usedTones } from '../../studies/diagnose/used-tones.ts';
import { useProofStore } from '../burn/proof-store.ts';
import { CurveControl } from './CurveControl.tsx';
import { Field } from './Field.tsx';
import { More } from './SheetDialog.tsx';

interface ToneControlsProps {
  of: 'picture.tone' | `passes.${number}.tone`;
  tone: Tone;
  onChange: (tone: Tone) => void;
}

/** Tone controls of the picture, or of one pass. */
export function ToneControls({ of, tone, onChange }: ToneControlsProps) {
  const chart = useProofStore((state) => (of === 'picture.tone' ? state.current?.diagnosis?.chart : undefined));
  const used = chart && usedTones(chart, tone);
  const levels = [
    ...(used?.opens ? [{ at: used.opens, words: 'the coat opens from here' }] : []),
    ...(used?.clear ? [{ at: used.clear, words: 'clear from here' }] : []),
  ];
  return (
    <>
      <Field of={`${of}.exposureEv`} hint="Lighter takes off more of the top coat." />
      <Field of={`${of}.contrast`} hint="Pulls lights and darks apart around the middle tone." />
      <More label="Middle tones, curve, sharpening">
        <Field of={`${of}.gamma`} hint="Lifts (above 1) or deepens (below 1) the middle tones." />
        <CurveControl
          levels={levels}
          label="Tone curve"
          hint="Photograph’s lightness from left to right, burned lightness upwards."
          points={tone.curve}
          onChange={(curve) => onChange({ ...tone, curve })}
        />
        <Field
          of={`${of}.unsharpMask.radiusMm`}
          hint="Sharpens edges of about this size; finer than the beam is lost."
        />
        <Field of={`${of}.unsharpMask.amount`} hint="How much edges are sharpened." />
        <Field
          of={`${of}.unsharpMask.threshold`}
          hint="Differences smaller than this are left alone, so that film grain is not burned in."
        />
        <Button className="wide" onPress={() => onChange(NEUTRAL_TONE)}>
          Back to the photograph’s own tones
        </Button>
      </More>
    </>
  );
}
