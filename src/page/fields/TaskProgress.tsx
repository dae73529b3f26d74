import { Button } from 'react-aria-components';
import type { Task } from '../remote/task.ts';

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
