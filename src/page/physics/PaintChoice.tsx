import { useMemo } from 'react';
import { FIRST_PAINT, PAINTS, type PaintId, type PaintJob, paintJobOf, TIMES } from '../../physics/material/paints.ts';
import { ChoiceControl, PairSwitch } from '../fields/ValueControl.tsx';
import { takePaint, usePieceStore } from '../store/piece-store.ts';

const OWN = 'own';

const PAINT_CHOICES = (Object.keys(PAINTS) as PaintId[]).map((id) => ({ id, label: PAINTS[id].label }));

const OWN_CHOICE = { id: OWN, label: 'Own numbers' } as const;

/** The paint in a maker's words; each answer fills in the coats' numbers. */
export function PaintChoice() {
  const coats = usePieceStore((state) => state.piece.stack.coats);
  const wavelengthNm = usePieceStore((state) => state.piece.machine.source.wavelengthNm);
  const job = useMemo(() => paintJobOf(coats, wavelengthNm), [coats, wavelengthNm]);
  const take = (part: Partial<PaintJob>) => takePaint({ ...(job ?? FIRST_PAINT), ...part });
  return (
    <>
      <ChoiceControl
        label="Paint"
        value={job?.paint ?? OWN}
        choices={job ? PAINT_CHOICES : [OWN_CHOICE, ...PAINT_CHOICES]}
        onChange={(paint) => paint !== OWN && take({ paint })}
      />
      {job && (
        <>
          <PairSwitch
            label="Laid with"
            value={job.laid}
            options={[
              { id: 'sprayed', label: 'Spray' },
              { id: 'brushed', label: 'Brush' },
            ]}
            onChange={(laid) => take({ laid })}
          />
          <PairSwitch
            label="Dark coats"
            value={String(job.times)}
            options={TIMES.map((times) => ({ id: String(times), label: WORDS[times] }))}
            onChange={(times) => take({ times: Number(times) })}
          />
          <p className="plain">
            {Math.round(coats[0].dryThicknessUm)} µm of dark paint over {Math.round(coats[1].dryThicknessUm)} µm of
            light: common practice, no published source. A test card measures yours.
          </p>
        </>
      )}
    </>
  );
}

const WORDS: Readonly<Record<(typeof TIMES)[number], string>> = { 1: 'One', 2: 'Two', 3: 'Three', 5: 'Five' };
