import { Button } from 'react-aria-components';

interface WorkStatusProps {
  /** What is being done, with how far it is, 0–1. */
  readonly busy: { readonly label: string; readonly share: number; readonly stop: () => void } | null;
  readonly fault: string | null;
}

/** What is under way, with a way to stop it, and what went wrong. */
export function WorkStatus({ busy, fault }: WorkStatusProps) {
  return (
    <>
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
    </>
  );
}
