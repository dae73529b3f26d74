import type { ReactNode } from 'react';
import { Button } from 'react-aria-components';
import { inBackground } from '../faults/lazy-part.tsx';
import type { Task } from '../remote/task.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** What went wrong, if anything did. */
export function Fault({ words }: { words: ReactNode }) {
  return words ? (
    <p className="warning" role="alert">
      {words}
    </p>
  ) : null;
}

/** What is under way, how far it is, and a way to stop it. */
export function TaskProgress({ of, label }: { of: Task; label: string }) {
  const busy = of.use((state) => state.busy);
  const percent = of.use((state) => 100 * state.share);
  return (
    <div className="task-progress">
      <span className="progress" role="progressbar" aria-label={label} aria-valuenow={Math.round(percent)}>
        <span>{busy}…</span>
        <i style={{ width: `${percent}%` }} />
      </span>
      <Button className="quiet" onPress={of.stop}>
        Stop
      </Button>
    </div>
  );
}

/** The same on a sheet, with what went wrong. */
export function WorkStatus({ of }: { of: Task }) {
  const busy = of.use((state) => state.busy);
  const share = of.use((state) => state.share);
  const fault = of.use((state) => state.fault);
  return (
    <>
      <div role="status">
        {busy && (
          <div className="mockup-busy">
            <p>
              {busy}, {Math.round(100 * share)} %
            </p>
            <progress max={1} value={share} aria-label={busy} />
            <Button className="quiet" onPress={of.stop}>
              Stop
            </Button>
          </div>
        )}
      </div>
      <Fault words={fault} />
    </>
  );
}

interface StudyProps {
  of: Task;
  /** What is under way, for those who hear it. */
  label: string;
  /** What the button that asks says, and does. */
  asks: string;
  onAsk: () => Promise<unknown>;
  /** What is to be said besides, where it has changed or comes to nothing. */
  children?: ReactNode;
}

/** A question about the piece's picture: asked by a button, stopped while it is under way, and what is said of it. */
export function Study({ of, label, asks, onAsk, children }: StudyProps) {
  const busy = of.use((state) => state.busy !== null);
  const fault = of.use((state) => state.fault);
  const said = of.use((state) => state.said);
  const hasPhoto = usePieceStore((state) => state.photo !== null);
  return (
    <>
      {busy ? (
        <TaskProgress of={of} label={label} />
      ) : (
        <Button className="wide" isDisabled={!hasPhoto} onPress={() => inBackground(onAsk())}>
          {asks}
        </Button>
      )}
      <div aria-live="polite">
        {fault && <p className="warning">{fault}</p>}
        {said && <p className="plain">{said}</p>}
        {children}
      </div>
    </>
  );
}
