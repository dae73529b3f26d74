import { Button } from 'react-aria-components';
import type { MachineFile } from '../../outputs/program/machine-file.ts';
import { duration } from '../burn/words.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { Refusals } from './Refusals.tsx';
import { fileKey, type MachineFiles } from './use-machine-files.ts';

interface FileButtonProps {
  readonly label: string;
  readonly hint?: string;
  readonly file: MachineFile;
  readonly files: MachineFiles;
  /** Known to be refused before it is asked for. */
  readonly isDisabled?: boolean;
}

/** One file of the machine's: a button that makes it, how far it is, what became of it. */
export function FileButton({ label, hint, file, files, isDisabled = false }: FileButtonProps) {
  const piece = usePieceStore((state) => state.piece);
  const state = files.states[fileKey(file)];
  const making = state?.kind === 'making' ? state : null;
  return (
    <div className="file-button">
      <div className="button-pair">
        <Button isDisabled={isDisabled || files.busy} onPress={() => files.make(file)}>
          {label}
        </Button>
        {making && (
          <Button className="quiet" onPress={files.stop}>
            Stop
          </Button>
        )}
      </div>
      {making ? (
        <p className="progress hint" role="status">
          <span>{making.stage ? `${making.stage}…` : 'where to?'}</span>
          <i style={{ width: `${100 * making.share}%` }} />
        </p>
      ) : (
        hint && <p className="hint">{hint}</p>
      )}
      {state?.kind === 'saved' && (
        <p className="small-print" role="status">
          Saved {state.saved.name}, {size(state.saved.bytes)}
          {state.saved.timeS !== null && `, ${duration(state.saved.timeS)} of burning`}.{' '}
          <span title={`SHA-256 ${state.saved.sha256}`}>SHA-256 {state.saved.sha256.slice(0, 12)}…</span>
        </p>
      )}
      {state?.kind === 'saved' &&
        state.saved.cautions.map((caution) => (
          <p className="warning" key={caution}>
            {caution}
          </p>
        ))}
      {state?.kind === 'refused' && state.piece === piece && <Refusals refusals={state.refusals} />}
      {state?.kind === 'failed' && (
        <p className="warning" role="alert">
          {state.message}
        </p>
      )}
    </div>
  );
}

const size = (bytes: number): string =>
  bytes < 1e6 ? `${Math.ceil(bytes / 1e3)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
