import { useEffect, useRef, useState } from 'react';
import { SCREENS } from '../../image/screens/screen-tone.ts';
import type { ScreenMethod } from '../../piece/schema.ts';
import type { ScreenPatch } from '../../studies/grid/screen-patches.ts';
import { ask } from '../burn/proof-remote.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { ChoiceControl } from '../fields/ValueControl.tsx';
import { useTask } from '../remote/task.ts';
import { changePass, usePieceStore } from '../store/piece-store.ts';
import './screen-choice.css';

type Patches = ReadonlyMap<ScreenMethod, ScreenPatch>;

/** The screens by their look: while the list is open, the same part of the picture is computed with each, shown at its true size. */
export function ScreenChoice({ index }: { index: number }) {
  const screen = usePieceStore((state) => state.piece.passes[index].screen);
  const [patches, setPatches] = useState<Patches>(new Map());
  const task = useTask();
  const busy = task.use((state) => state.busy);
  const fault = task.use((state) => state.fault);
  const computePatches = () => {
    const { piece, photo } = usePieceStore.getState();
    if (!photo) return;
    const asks = { piece, pass: index, photoKey: photo.key };
    inBackground(
      task.run('computing the patches', ({ signal }) =>
        ask('screen-patches', asks, {
          signal,
          onPart: (patch) => setPatches((known) => new Map(known).set(patch.method, patch)),
        }),
      ),
    );
  };
  return (
    <ChoiceControl
      label="Screen"
      value={screen}
      choices={SCREENS.map(({ method, look, title, note }) => ({
        id: method,
        label: look,
        note: `${note} ${title}.`,
        picture: <Patch patch={patches.get(method)} waits={busy !== null} />,
      }))}
      above={
        fault ??
        'A part of this picture at its true size, with the tones as they are set, and how far it is off them as seen from 40 cm, L*: less is truer.'
      }
      onChange={(method) => changePass(index, { screen: method })}
      onOpen={computePatches}
      onClose={task.stop}
    />
  );
}

/** A patch and its error; an empty place until it is there. */
function Patch({ patch, waits }: { patch: ScreenPatch | undefined; waits: boolean }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    if (!patch || !canvas.current) return;
    const pixels = new Uint8ClampedArray(patch.color);
    for (let i = 3; i < pixels.length; i += 4) pixels[i] = 255;
    canvas.current.getContext('2d')?.putImageData(new ImageData(pixels, patch.width, patch.height), 0, 0);
  }, [patch]);
  const size = patch && { width: `${patch.sideMm}mm`, height: `${patch.sideMm}mm` };
  return (
    <figure className="screen-patch">
      {patch ? (
        <canvas ref={canvas} width={patch.width} height={patch.height} style={size} />
      ) : (
        <i className={waits ? 'waits' : ''} />
      )}
      <figcaption>{patch ? `${patch.error.rms.toFixed(1)} L*` : ' '}</figcaption>
    </figure>
  );
}
