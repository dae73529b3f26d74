import { useEffect, useMemo, useState } from 'react';
import { Button } from 'react-aria-components';
import { quantity } from '../../../base/quantity.ts';
import { pauseSentences } from '../../../outputs/program/take-up.ts';
import { type BurnPlace, burnPlace } from '../../../physics/raster/pass-time.ts';
import { BurnView } from '../../../render/mockup/MockupView.tsx';
import { inBackground } from '../../faults/lazy-part.tsx';
import { SheetDialog, SheetTable } from '../../fields/SheetDialog.tsx';
import { WorkStatus } from '../../fields/TaskProgress.tsx';
import { ValueControl } from '../../fields/ValueControl.tsx';
import { closeBurn, goTo, openBurn, saveBurnClip, tryPause } from './mockup-actions.ts';
import { following, MOCKUP_LAMP, type PausePoint, type ReadyBurn, setBurn, useBurnStore } from './mockup-store.ts';
import './mockup.css';
import './burn.css';

const STOP_LENGTH = quantity(1, 240, { label: 'Length of the stop', unit: 'min', step: 1, digits: 2, sliderHigh: 120 });

/** The burn from its first row to its last. */
export function BurnDialog() {
  const record = useBurnStore((state) => state.record);
  useEffect(() => closeBurn, []);
  return (
    <SheetDialog label="Watch it burn" isOpen={record !== null} onClose={closeBurn}>
      <Sheet />
    </SheetDialog>
  );
}

function Sheet() {
  const record = useBurnStore((state) => state.record);
  const burn = useBurnStore((state) => state.burn);
  const busy = following.use((state) => state.busy !== null);
  return (
    <SheetTable title="Watch it burn" onClose={closeBurn}>
      <div className="sheet-place mockup-place">{burn && <Watch burn={burn} />}</div>
      <aside className="sheet-panel mockup-panel" aria-label="The burn">
        <WorkStatus of={following} />
        {!burn && !busy && record && (
          <Button className="wide" onPress={() => inBackground(openBurn(record))}>
            Work it out
          </Button>
        )}
        {burn && <BurnPanel burn={burn} />}
      </aside>
    </SheetTable>
  );
}

function Watch({ burn }: { burn: ReadyBurn }) {
  const record = useBurnStore((state) => state.record);
  const seconds = useBurnStore((state) => state.seconds);
  const playing = useBurnStore((state) => state.playing);
  usePlaying();
  const looks = useMemo(() => burn.faces.map(({ look }) => look), [burn]);
  const { slab, parts } = burn.faces[0];
  const words = placeWords(burnPlace(burn.courses, seconds), burn.courses.length);
  return (
    <>
      <div className="mockup-frame">
        <BurnView
          slab={slab}
          parts={parts}
          faces={looks}
          courses={burn.courses}
          frame={burn.frame}
          lamp={MOCKUP_LAMP}
          seconds={seconds}
          label={`${record?.piece.name ?? ''}, half burned.`}
          onFault={(message) => following.tell({ fault: message })}
        />
      </div>
      <div className="burn-bar">
        <Button
          className="burn-play"
          onPress={() => {
            if (!playing && seconds >= burn.totalS) goTo(0);
            setBurn({ playing: !playing });
          }}
        >
          {playing ? 'Stop here' : 'Play'}
        </Button>
        <div className="burn-track">
          {starts(burn).map((at) => (
            <b key={at} aria-hidden="true" style={{ left: `${(100 * at) / burn.totalS}%` }} />
          ))}
          <input
            type="range"
            aria-label="Time of the burn, s"
            aria-valuetext={words}
            min={0}
            max={Math.ceil(burn.totalS)}
            step={1}
            value={Math.round(seconds)}
            onChange={(event) => {
              setBurn({ playing: false });
              goTo(Number(event.target.value));
            }}
          />
        </div>
        <p className="burn-words">{words}</p>
      </div>
    </>
  );
}

/** When the second pass begins, and those after it, s. */
function starts({ courses }: ReadyBurn): number[] {
  let sum = 0;
  return courses.slice(0, -1).map(({ timeS }) => {
    sum += timeS;
    return sum;
  });
}

/** The whole burn plays in this time, s. */
const PLAYS_S = 24;

/** Moves the burn on while it plays. */
function usePlaying(): void {
  const playing = useBurnStore((state) => state.playing);
  useEffect(() => {
    if (!playing) return;
    let before = performance.now();
    let request = requestAnimationFrame(function step(now) {
      const { burn, seconds } = useBurnStore.getState();
      if (!burn) return;
      goTo(seconds + (burn.totalS * Math.min(250, now - before)) / 1000 / PLAYS_S);
      before = now;
      if (useBurnStore.getState().seconds >= burn.totalS) setBurn({ playing: false });
      else request = requestAnimationFrame(step);
    });
    return () => cancelAnimationFrame(request);
  }, [playing]);
}

/** Stops in the burn, and its clip. */
function BurnPanel({ burn }: { burn: ReadyBurn }) {
  const seconds = useBurnStore((state) => state.seconds);
  const pause = useBurnStore((state) => state.pause);
  const busy = following.use((state) => state.busy !== null);
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
        Before you leave, stop between two rows; leave the slab clamped and do not home. Never leave it burning alone.
      </p>
      <ValueControl
        of={STOP_LENGTH}
        hint="The wood cools meanwhile: the next rows find it colder."
        value={lengthMin}
        onChange={setLength}
      />
      <Button className="wide" isDisabled={busy} onPress={() => inBackground(tryPause(pass, minute, lengthMin))}>
        Show what a stop at minute {minute} does
        {several ? ` of pass ${pass + 1}` : ''}
      </Button>
      <p className="hint">Move the burn to where you want to stop; this tells what it does.</p>
      <div role="status">{pause && <p className="plain">{pauseWords(pause)}</p>}</div>
      <h3>To send</h3>
      <Button className="wide" isDisabled={busy} onPress={() => inBackground(saveBurnClip())}>
        Save the burn as a clip
      </Button>
      <p className="hint">The whole burn in 12 s, WebM. Without a graphics card it takes some minutes.</p>
    </div>
  );
}

const minutes = (seconds: number): string => {
  const whole = Math.round(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
};

/** "Pass 1 of 2, 12:05 · 41:20 left". */
function placeWords({ pass, passS, leftS }: BurnPlace, passes: number): string {
  const which = passes > 1 ? `Pass ${pass + 1} of ${passes}, ` : '';
  return `${which}${minutes(passS)} · ${leftS > 0 ? `${minutes(leftS)} left` : 'done'}`;
}

/** What a stop does, in a sentence or two. */
export function pauseWords({ minute, lengthMin, effect }: PausePoint): string {
  if (!effect) return 'Working it out…';
  return pauseSentences(`A stop of ${lengthMin} min after minute ${minute}`, effect);
}
