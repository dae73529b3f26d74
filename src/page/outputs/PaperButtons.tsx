import { useState } from 'react';
import { Button } from 'react-aria-components';
import { askOnce } from '../../base/remote/remote.ts';
import type { Paper } from '../../outputs/paper/paper.ts';
import { paperHtml } from '../../outputs/paper/paper-html.ts';
import type { MachineFile } from '../../outputs/program/machine-file.ts';
import { duration } from '../burn/proof-store.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { saveFile } from '../files/save-file.ts';
import { openWorker } from '../remote/worker-port.ts';
import { usePieceStore } from '../store/piece-store.ts';
import type { PdfQuestions } from './pdf-worker.ts';
import { Refusals } from './Refusals.tsx';
import { fileKey, type MachineFiles } from './use-machine-files.ts';

interface PaperButtonsProps {
  /** What the paper is called: “bench sheet”. */
  what: string;
  fileName: string;
  isDisabled: boolean;
  make: () => Promise<Paper>;
}

/** Saves a paper to print or to send; says what is going on and what went wrong. */
export function PaperButtons({ what, fileName, isDisabled, make }: PaperButtonsProps) {
  const [state, setState] = useState<{ busy: 'pdf' | 'html' | null; fault: string | null }>({
    busy: null,
    fault: null,
  });
  const save = async (kind: 'pdf' | 'html') => {
    setState({ busy: kind, fault: null });
    try {
      await savePaper(await make(), fileName, kind);
      setState({ busy: null, fault: null });
    } catch (error) {
      setState({ busy: null, fault: error instanceof Error ? error.message : String(error) });
    }
  };
  const label = (kind: 'pdf' | 'html', idle: string) => (state.busy === kind ? 'Setting the page…' : idle);
  return (
    <>
      <div className="button-pair">
        <Button isDisabled={isDisabled || state.busy !== null} onPress={() => inBackground(save('pdf'))}>
          {label('pdf', `Save the ${what}, PDF`)}
        </Button>
        <Button
          className="quiet"
          isDisabled={isDisabled || state.busy !== null}
          onPress={() => inBackground(save('html'))}
        >
          {label('html', 'as web page')}
        </Button>
      </div>
      {state.fault && (
        <p className="warning" role="alert">
          {state.fault}
        </p>
      )}
    </>
  );
}

const pdfWorker = openWorker(
  () => new Worker(new URL('./pdf-worker.ts', import.meta.url), { type: 'module' }),
  'sets documents',
);

/** Saves a paper as a document to print or as a page. @throws Error with a message for people. */
async function savePaper(paper: Paper, name: string, kind: 'pdf' | 'html'): Promise<void> {
  if (kind === 'html') {
    saveFile(`${name}.html`, new TextEncoder().encode(paperHtml(paper)), 'text/html');
    return;
  }
  const pdf = await askOnce<PdfQuestions, 'pdf'>(pdfWorker, 'pdf', paper).catch((error: Error) => {
    throw new Error(`The document could not be set (${error.message}); save the web page and print that.`);
  });
  saveFile(`${name}.pdf`, pdf, 'application/pdf');
}

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
