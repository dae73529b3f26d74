import type { Band } from '../../../studies/sure/how-sure.ts';
import { percent } from '../../burn/words.ts';

/** The band of the light areas' uncleared share, before and after, on one scale. */
export function BandPair({ before, after }: { before: Band; after: Band }) {
  const top = Math.max(before.high, after.high, 0.02);
  const narrower = before.high - before.low > 0 ? (after.high - after.low) / (before.high - before.low) : 1;
  return (
    <section className="cal-bands" aria-label="Uncleared share of the light areas">
      <h3>Light areas that stay uncleared</h3>
      <Bar label="Before" band={before} top={top} />
      <Bar label="After" band={after} top={top} after />
      <p className="plain">
        {narrower < 0.95
          ? `8 in 10 cases lie between the ends: the band is ${Math.round(100 * (1 - narrower))} % narrower.`
          : '8 in 10 cases lie between the ends. The band is not narrower: these readings tell other things, or show that the middle lies elsewhere.'}
      </p>
    </section>
  );
}

function Bar({ label, band, top, after = false }: { label: string; band: Band; top: number; after?: boolean }) {
  const at = (share: number) => `${(100 * share) / top}%`;
  return (
    <div className={after ? 'cal-band cal-band-after' : 'cal-band'}>
      <p>
        <span>{label}</span>
        <span>
          {percent(band.low)} to {percent(band.high)}
        </span>
      </p>
      <div aria-hidden="true">
        <i style={{ left: at(band.low), width: `max(3px, ${at(band.high - band.low)})` }} />
        <b style={{ left: at(band.middle) }} />
      </div>
    </div>
  );
}
