import type { Stack } from '../../piece/schema.ts';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { changeStack } from '../store/piece-edits.ts';
import { MeasuredFilm } from './MeasuredFilm.tsx';

/** Where the films happen to be thick and thin. */
export function FilmControls({ stack }: { stack: Stack }) {
  const edit = (part: Partial<Stack['film']>) => changeStack((old) => ({ ...old, film: { ...old.film, ...part } }));
  return (
    <>
      <p className="plain">
        Where exactly a film is thick is not known before it is measured. The mean film is the best guess for every
        place; the odds reckon with all that may lie there.
      </p>
      <PairSwitch
        label="Film shown"
        value={stack.film.shown}
        options={[
          { id: 'mean', label: 'Mean' },
          { id: 'drawn', label: 'One that may lie there' },
        ]}
        onChange={(shown) => edit({ shown })}
        hint="A film that may lie there shows what blotches would look like, not where they will be."
      />
      {stack.film.shown === 'drawn' && (
        <ValueControl
          label="Likely film no."
          hint="Another number, another film of the same kind."
          unit=""
          value={stack.film.seed}
          onChange={(seed) => edit({ seed: Math.round(seed) })}
          low={0}
          high={4294967295}
          sliderHigh={50}
          step={1}
          digits={0}
        />
      )}
      <MeasuredFilm found={stack.film.found} />
      <ValueControl
        label="Size of slow waves"
        hint="Spray overlaps and runs are a few centimetres apart."
        unit="mm"
        value={stack.film.slowScaleMm}
        onChange={(slowScaleMm) => edit({ slowScaleMm })}
        low={1}
        high={500}
        sliderHigh={120}
        step={1}
        digits={1}
      />
      <ValueControl
        label="Size of fine waves"
        hint="Orange peel and grain are a millimetre or so."
        unit="mm"
        value={stack.film.fineScaleMm}
        onChange={(fineScaleMm) => edit({ fineScaleMm })}
        low={0.1}
        high={50}
        sliderHigh={6}
        step={0.1}
        digits={1}
      />
    </>
  );
}
