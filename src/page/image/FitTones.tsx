import { useState } from 'react';
import { Button } from 'react-aria-components';
import type { ToneIntent } from '../../burn/fit-tones.ts';
import { ask } from '../burn/proof-client.ts';
import type { TonesAnswer } from '../burn/worker/questions.ts';
import { inBackground } from '../faults/tell-fault.ts';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { usePieceStore } from '../store/piece-store.ts';

/** One press: the curve with which equal steps of the photograph become equal steps on the slab. */
export function FitTones() {
  const [intent, setIntent] = useState<ToneIntent>('perceptual');
  const [state, setState] = useState<'idle' | 'busy' | 'failed'>('idle');
  const [fitted, setFitted] = useState<TonesAnswer | null>(null);
  const burnPatches = async () => {
    const { piece, photo } = usePieceStore.getState();
    setState('busy');
    const found = await ask('tones', { piece, photoKey: photo?.key ?? '', intent }).catch(() => null);
    setState(found ? 'idle' : 'failed');
    setFitted(found);
    if (!found) return;
    usePieceStore.getState().change((now) => ({
      ...now,
      picture: { ...now.picture, tone: { ...now.picture.tone, gamma: 1, curve: found.curve } },
    }));
  };
  return (
    <>
      <PairSwitch
        label="Tones"
        value={intent}
        options={[
          { id: 'perceptual', label: 'Whole range' },
          { id: 'relative', label: 'True lightness' },
        ]}
        onChange={setIntent}
        hint={
          intent === 'perceptual'
            ? 'Black becomes the stack’s darkest tone, white its lightest, even in between.'
            : 'Lightness is kept where the stack can show it, and cut off where it cannot.'
        }
      />
      <Button className="wide" isDisabled={state === 'busy'} onPress={() => inBackground(burnPatches())}>
        {state === 'busy' ? 'Burning patches…' : 'Fit tones to this stack'}
      </Button>
      {state === 'failed' && (
        <p className="warning">The stack’s tones could not be worked out; check coats and powers.</p>
      )}
      {fitted && <RangeChart fitted={fitted} />}
      {fitted && (
        <p className="plain">
          This stack shows L* {fitted.darkest.toFixed(0)} to {fitted.lightest.toFixed(0)}; steps are even to{' '}
          {fitted.unevenness.toFixed(1)} L*
          {fitted.unevenness > 1.5 ? ': its powers leave no finer steps; a narrower range of power gives more.' : '.'}
        </p>
      )}
    </>
  );
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
