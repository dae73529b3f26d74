import { useState } from 'react';
import { Button } from 'react-aria-components';
import { Cancelled } from '../../../base/cancelled.ts';
import { inBackground } from '../../faults/tell-fault.ts';
import { PairSwitch } from '../../fields/PairSwitch.tsx';
import { ValueControl } from '../../fields/ValueControl.tsx';
import { MOST_STROKES } from './limits.ts';
import { beforeBackground, draw, type MaskDraft } from './mask-draft.ts';
import type { MaskQuestions } from './messages.ts';
import type { MaskClient } from './use-mask-client.ts';
import type { MaskPhoto } from './use-mask-photo.ts';

interface BackgroundControlsProps {
  client: MaskClient | null;
  small: MaskPhoto['small'] | null;
  draft: MaskDraft;
  softMm: number;
  widthMm: number;
  onDraft: (edit: (draft: MaskDraft) => MaskDraft) => void;
}

const STARTS = { top: ['top'], sides: ['top', 'left', 'right'] } as const;
/** Above this share the subject is probably gone, too. */
const NEARLY_ALL = 0.9;

/** Takes away what is like the picture's borders, as one step. */
export function BackgroundControls({ client, small, draft, softMm, widthMm, onDraft }: BackgroundControlsProps) {
  const [tolerance, setTolerance] = useState(5);
  const [start, setStart] = useState<keyof typeof STARTS>('sides');
  const [busy, setBusy] = useState(false);
  const [found, setFound] = useState<MaskQuestions['background']['gets'] | string | null>(null);
  const anew = draft.step === 'background';
  const take = async () => {
    if (!client || !small) return;
    setBusy(true);
    const softDots = Math.min(0.05, softMm / widthMm) * small.width;
    const mostStrokes = MOST_STROKES - beforeBackground(draft).strokes.length;
    try {
      const answer = await client.ask('background', {
        ...small,
        tolerance,
        from: STARTS[start],
        softDots,
        mostStrokes,
      });
      setFound(answer);
      onDraft((now) => {
        const base = beforeBackground(now);
        const strokes = [...base.strokes, ...answer.strokes];
        return strokes.length <= MOST_STROKES ? draw(base, strokes, 'background') : now;
      });
    } catch (error) {
      if (!(error instanceof Cancelled)) setFound((error as Error).message);
    }
    setBusy(false);
  };
  return (
    <section className="mask-background" aria-label="Background">
      <PairSwitch
        label="Background from"
        value={start}
        options={[
          { id: 'top', label: 'Top' },
          { id: 'sides', label: 'Top and sides' },
        ]}
        onChange={setStart}
        hint="A sky comes from the top, a backdrop from the sides as well."
      />
      <ValueControl
        label="Tolerance"
        hint="How far a place may differ in colour from its neighbours and still be background."
        unit="ΔE"
        value={tolerance}
        onChange={setTolerance}
        low={1}
        high={60}
        sliderHigh={40}
        step={1}
        digits={0}
      />
      <Button className="wide" isDisabled={busy || !small || !client} onPress={() => inBackground(take())}>
        {busy ? 'Looking for the background…' : anew ? 'Take it away anew' : 'Take the background away'}
      </Button>
      <p className="hint">As far as it is calm, up to the next edge. The brush corrects it afterwards.</p>
      <div role="status">
        {typeof found === 'string' && <p className="warning">{found}</p>}
        {found && typeof found !== 'string' && anew && (
          <p className="plain">
            {Math.round(100 * found.removed)} % of the picture, in {found.strokes.length}{' '}
            {found.strokes.length === 1 ? 'stroke' : 'strokes'}.
            {found.removed > NEARLY_ALL && ' That is nearly all of it: a lower tolerance leaves more.'}
            {found.coarser &&
              ` It was drawn more coarsely to keep the piece small: gaps narrower than about ${((found.finestDots * widthMm) / (small?.width ?? 1)).toFixed(1)} mm stay.`}
          </p>
        )}
      </div>
    </section>
  );
}
