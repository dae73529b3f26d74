import { useState } from 'react';
import type { Metrics } from '../../../studies/diagnose/diagnose.ts';
import { VIEWING_MM } from '../../../studies/diagnose/noise.ts';
import { seenNoise } from '../../../studies/diagnose/noise-bands.ts';
import { percent } from '../../burn/words.ts';
import { LengthControl } from '../../fields/LengthControl.tsx';

const ZONES = ['Darkest', 'Dark', 'Middle', 'Light', 'Lightest'];
const signed = (value: number) => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(1)}`;

/** How even and how true in tone the proof is, and how much of it one sees from where one stands. */
export function QualityFigures({ metrics }: { metrics: Metrics }) {
  const [distanceMm, setDistanceMm] = useState<number>(VIEWING_MM);
  const { toneError } = metrics;
  return (
    <>
      {metrics.noiseTiles > 0 && (
        <>
          <LengthControl
            label="Viewing distance"
            hint="From further away fine grain vanishes sooner than blotches."
            valueMm={distanceMm}
            onChange={setDistanceMm}
            lowMm={100}
            highMm={5000}
            sliderLowMm={150}
            sliderHighMm={2000}
            stepMm={50}
            digits={0}
          />
          <dl className="figures">
            <div>
              <dt>Unevenness seen from there</dt>
              <dd>
                <strong>{seenNoise(metrics.noiseBands, distanceMm).toFixed(1)} L*</strong>
              </dd>
            </div>
            <div>
              <dt>Mottle, graininess (ISO 13660)</dt>
              <dd>
                <strong>
                  {metrics.mottle.toFixed(3)}, {metrics.graininess.toFixed(3)}
                </strong>
              </dd>
            </div>
          </dl>
        </>
      )}
      <dl className="figures">
        <div>
          <dt>Tone error, mean and largest</dt>
          <dd>
            <strong>
              {toneError.rms.toFixed(1)}, {toneError.max.toFixed(1)} L*
            </strong>
          </dd>
        </div>
        {toneError.zones.map(
          ({ error, share }, i) =>
            share > 0.001 && (
              <div key={ZONES[i]}>
                <dt>
                  {ZONES[i]} tones, {percent(share)} of the picture
                </dt>
                <dd>{signed(error)} L*</dd>
              </div>
            ),
        )}
        <div>
          <dt>Finest contrast lost to the beam</dt>
          <dd>{percent(metrics.detailLost)}</dd>
        </div>
      </dl>
      <p className="small-print">
        Density and L* of the light areas where the picture itself is even. Above zero: lighter than the picture asks
        for.
      </p>
    </>
  );
}
