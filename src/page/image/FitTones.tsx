import { useEffect, useRef, useState } from 'react';
import { Button, ToggleButton, ToggleButtonGroup } from 'react-aria-components';
import { encodeSrgbByte } from '../../base/color/srgb.ts';
import { createToneCurve } from '../../image/tone.ts';
import { changedShare, intentCurve, TONE_INTENTS, type ToneIntent } from '../../image/tone-intent.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Tone } from '../../piece/schema.ts';
import type { TonesAnswer } from '../burn/worker/questions.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { useTask } from '../remote/task.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { findTones } from './fit-tones.ts';
import './fit-tones.css';

const INTENTS: Readonly<Record<ToneIntent, readonly [label: string, note: string]>> = {
  whole: ['Whole range', 'Every tone gets its share'],
  faces: ['Faces', 'Middle tones keep their contrast'],
  highlights: ['Highlights', 'Light tones keep their contrast'],
  true: ['True', 'Lightness is kept, the rest cut off'],
};

const editTone = (part: Partial<Tone>): void =>
  usePieceStore.getState().change((now) => ({
    ...now,
    picture: { ...now.picture, tone: { ...now.picture.tone, ...part } },
  }));

/** One press: the curve with which equal steps of the photograph become equal steps on the slab. Then what is kept of tones that it cannot show. */
export function FitTones() {
  const task = useTask();
  const busy = task.use((state) => state.busy);
  const fault = task.use((state) => state.fault);
  const [fitted, setFitted] = useState<TonesAnswer | null>(null);
  const computePatches = async () => {
    const { piece, photo } = usePieceStore.getState();
    const before = fitted && chosenOf(piece.picture.tone, fitted);
    const found = await task.run('Computing patches', () => findTones(piece, photo?.key ?? ''));
    setFitted(found);
    if (!found) return;
    // What was chosen for another range is chosen anew for this one.
    editTone({ gamma: 1, curve: found.curve, ...(before && { intent: intentCurve(before, found) }) });
  };
  return (
    <>
      <Button className="wide" isDisabled={busy !== null} onPress={() => inBackground(computePatches())}>
        {busy ? `${busy}…` : 'Fit tones to this stack'}
      </Button>
      {fault && <p className="warning">The stack’s tones could not be worked out; check coats and powers.</p>}
      {fitted && <RangeChart fitted={fitted} />}
      {fitted && (
        <p className="plain">
          This stack shows L* {fitted.darkest.toFixed(0)} to {fitted.lightest.toFixed(0)}; steps are even to{' '}
          {fitted.unevenness.toFixed(1)} L*
          {fitted.unevenness > 1.5 ? ': its powers leave no finer steps; a narrower range of power gives more.' : '.'}
        </p>
      )}
      {fitted && <IntentChoice fitted={fitted} />}
    </>
  );
}

/** The choice whose curve the piece has; null for one of somebody's own. */
const chosenOf = ({ intent }: Tone, range: TonesAnswer): ToneIntent | null =>
  TONE_INTENTS.find((one) => JSON.stringify(intentCurve(one, range)) === JSON.stringify(intent)) ?? null;

function IntentChoice({ fitted }: { fitted: TonesAnswer }) {
  const tone = usePieceStore((state) => state.piece.picture.tone);
  const chosen = chosenOf(tone, fitted);
  return (
    <div className="intent-choice">
      <span className="pair-label">What the slab cannot show</span>
      <ToggleButtonGroup
        aria-label="What the slab cannot show"
        className="intent-cards"
        selectionMode="single"
        disallowEmptySelection
        selectedKeys={chosen ? [chosen] : []}
        onSelectionChange={(keys) => {
          const intent = TONE_INTENTS.find((one) => keys.has(one));
          if (intent) editTone({ intent: intentCurve(intent, fitted) });
        }}
      >
        {TONE_INTENTS.map((intent) => {
          const [label, note] = INTENTS[intent];
          const changed = changedShare(fitted.histogram, intentCurve(intent, fitted), fitted);
          return (
            <ToggleButton key={intent} id={intent} className="intent-card">
              <IntentPicture intent={intent} fitted={fitted} />
              <b>{label}</b>
              <small>
                {note}; {Math.round(100 * changed)} % of the picture gets plainly lighter or darker.
              </small>
            </ToggleButton>
          );
        })}
      </ToggleButtonGroup>
    </div>
  );
}

/** The photograph in the slab's tones. */
function IntentPicture({ intent, fitted }: { intent: ToneIntent; fitted: TonesAnswer }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const { width, height, lightness } = fitted.small;
  useEffect(() => {
    const share = createToneCurve({ ...NEUTRAL_TONE, curve: intentCurve(intent, fitted) });
    const last = fitted.rgb.length / 3 - 1;
    const colors = new Uint8Array(3 * 256);
    for (let i = 0; i < colors.length; i++) {
      const at = share(Math.floor(i / 3) / 255) * last;
      const from = 3 * Math.min(last - 1, Math.floor(at)) + (i % 3);
      colors[i] = encodeSrgbByte(
        fitted.rgb[from] + (fitted.rgb[from + 3] - fitted.rgb[from]) * (at - Math.floor(from / 3)),
      );
    }
    const image = new ImageData(width, height);
    for (let i = 0; i < lightness.length; i++) {
      for (let k = 0; k < 3; k++) image.data[4 * i + k] = colors[3 * lightness[i] + k];
      image.data[4 * i + 3] = 255;
    }
    canvas.current?.getContext('2d')?.putImageData(image, 0, 0);
  }, [intent, fitted, width, height, lightness]);
  return <canvas ref={canvas} width={width} height={height} />;
}

/** The photograph's tones, and between which of them the slab's range lies. */
function RangeChart({ fitted }: { fitted: TonesAnswer }) {
  const { histogram, darkest, lightest } = fitted;
  const highest = Math.max(1, ...histogram);
  const width = 100 / Math.max(1, histogram.length);
  return (
    <figure className="range-chart">
      <svg
        viewBox="0 0 100 34"
        preserveAspectRatio="none"
        role="img"
        aria-label="Tones of the photograph and range of the slab"
      >
        {histogram.map((count, i) => {
          const height = 26 * Math.sqrt(count / highest);
          // biome-ignore lint/suspicious/noArrayIndexKey: bins have no identity but their place
          return <rect key={i} x={i * width} y={26 - height} width={width * 0.9} height={height} />;
        })}
        <rect className="range-bar" x={darkest} y={29} width={Math.max(0, lightest - darkest)} height={4} />
      </svg>
      <figcaption>Photograph’s tones from black to white; below them the slab’s range.</figcaption>
    </figure>
  );
}
