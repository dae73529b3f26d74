import type { Certainty } from '../../piece/schema.ts';

/** Beside a predicted number whose paint and machine nobody has measured. */
export function UncalibratedMark({ source }: { source: Certainty['source'] | undefined }) {
  if (source !== 'preset') return null;
  return (
    <em
      className="mark"
      title="Reckoned from typical values of paint and machine; burn a test card to know how yours differ."
    >
      uncalibrated
    </em>
  );
}
