import { Button } from 'react-aria-components';
import { Fault } from '../../fields/TaskProgress.tsx';
import type { Task } from '../../remote/task.ts';

/** What is under way, with a way to stop it, and what went wrong. */
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
