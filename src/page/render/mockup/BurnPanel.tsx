import { useState } from 'react';
import { Button } from 'react-aria-components';
import { burnPlace } from '../../../physics/raster/burn-clock.ts';
import { inBackground } from '../../faults/tell-fault.ts';
import { ValueControl } from '../../fields/ValueControl.tsx';
import { saveBurnClip, tryPause } from './burn-actions.ts';
import { type ReadyBurn, useBurn } from './burn-store.ts';
import { pauseWords } from './burn-words.ts';

/** Stops in the burn, and its clip. */
export function BurnPanel({ burn }: { burn: ReadyBurn }) {
  const { seconds, pause, busy } = useBurn();
  const [lengthMin, setLength] = useState(30);
  const { pass, passS } = burnPlace(burn.courses, seconds);
  const minute = Math.round(passS / 60);
  const several = burn.courses.length > 1;
  return (
    <div className="mockup-controls">
      <p className="plain">
        Rows burned so far show what they leave; the others are as they were before. Minutes of the passes follow each
        other here; between passes there is the time that you take.
      </p>
      <h3>Stop for a while</h3>
      <p className="plain">
        A long burn over lunch: stop the machine between two rows and stay registered. Never leave it burning alone.
      </p>
      <ValueControl
        label="Length of the stop"
        hint="The wood cools meanwhile: the next rows find it colder."
        unit="min"
        value={lengthMin}
        onChange={setLength}
        low={1}
        high={240}
        sliderHigh={120}
        step={1}
      />
      <Button
        className="wide"
        isDisabled={busy !== null}
        onPress={() => inBackground(tryPause(pass, minute, lengthMin))}
      >
        Stop after minute {minute}
        {several ? ` of pass ${pass + 1}` : ''}
      </Button>
      <p className="hint">Move the burn to where you want to stop; this tells what it does.</p>
      <div role="status">{pause && <p className="plain">{pauseWords(pause)}</p>}</div>
      <h3>To send</h3>
      <Button className="wide" isDisabled={busy !== null} onPress={() => inBackground(saveBurnClip())}>
        Save the burn as a clip
      </Button>
      <p className="hint">The whole burn in 12 s, WebM. Without a graphics card it takes some minutes.</p>
    </div>
  );
}
