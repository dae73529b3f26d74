import { useEffect, useMemo } from 'react';
import { Button, Heading } from 'react-aria-components';
import { burnPlace } from '../../../physics/raster/burn-clock.ts';
import { BurnView } from '../../../render/mockup-view/BurnView.tsx';
import { SheetDialog } from '../../fields/SheetDialog.tsx';
import { BurnPanel } from './BurnPanel.tsx';
import { closeBurn, goTo, openBurn } from './burn-actions.ts';
import { type ReadyBurn, setBurn, useBurn } from './burn-store.ts';
import { placeWords } from './burn-words.ts';
import { MOCKUP_LAMP } from './mockup-store.ts';
import { usePlaying } from './use-playing.ts';
import './mockup.css';
import './burn.css';
import { inBackground } from '../../faults/tell-fault.ts';

/** The burn from its first row to its last. */
export function BurnDialog() {
  const record = useBurn((state) => state.record);
  useEffect(() => closeBurn, []);
  return (
    <SheetDialog label="Watch it burn" isOpen={record !== null} onClose={closeBurn}>
      <Sheet />
    </SheetDialog>
  );
}

function Sheet() {
  const { record, burn, busy, fault } = useBurn();
  return (
    <div className="sheet-table">
      <header className="sheet-head">
        <Heading slot="title">Watch it burn</Heading>
        <span className="spacer" />
        <Button className="quiet" onPress={closeBurn}>
          Close
        </Button>
      </header>
      <div className="sheet-place mockup-place">{burn && <Watch burn={burn} />}</div>
      <aside className="sheet-panel mockup-panel" aria-label="The burn">
        <div role="status">
          {busy && (
            <div className="mockup-busy">
              <p>
                {busy.label}, {Math.round(100 * busy.share)} %
              </p>
              <progress max={1} value={busy.share} aria-label={busy.label} />
              <Button className="quiet" onPress={busy.stop}>
                Stop
              </Button>
            </div>
          )}
        </div>
        {fault && (
          <p className="warning" role="alert">
            {fault}
          </p>
        )}
        {!burn && !busy && record && (
          <Button className="wide" onPress={() => inBackground(openBurn(record))}>
            Work it out
          </Button>
        )}
        {burn && <BurnPanel burn={burn} />}
      </aside>
    </div>
  );
}

function Watch({ burn }: { burn: ReadyBurn }) {
  const { record, seconds, playing } = useBurn();
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
          onFault={(message) => setBurn({ fault: message })}
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
