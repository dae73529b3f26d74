import { useState } from 'react';
import { Button } from 'react-aria-components';
import type { FittedTones, ToneIntent } from '../../../sim/fit-tones.ts';
import { PairSwitch } from '../../controls/PairSwitch.tsx';
import { requestTones } from '../../proof-client.ts';
import { usePieceStore } from '../../stores/piece-store.ts';

/** One press: the curve with which equal steps of the photograph become equal steps on the slab. */
export function FitTones() {
  const [intent, setIntent] = useState<ToneIntent>('perceptual');
  const [state, setState] = useState<'idle' | 'busy' | 'failed'>('idle');
  const [fitted, setFitted] = useState<FittedTones | null>(null);
  const burnPatches = async () => {
    const { piece, photo } = usePieceStore.getState();
    setState('busy');
    const found = await requestTones(piece, photo?.key ?? '', intent);
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
      <Button className="wide" isDisabled={state === 'busy'} onPress={() => void burnPatches()}>
        {state === 'busy' ? 'Burning patches…' : 'Fit tones to this stack'}
      </Button>
      {state === 'failed' && (
        <p className="warning">The stack’s tones could not be worked out; check coats and powers.</p>
      )}
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
