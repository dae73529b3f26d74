import { useState } from 'react';
import { Button } from 'react-aria-components';
import type { Paper } from '../../outputs/paper/paper.ts';
import { paperHtml } from '../../outputs/paper/paper-html.ts';
import type { MachineFile } from '../../outputs/program/machine-file.ts';
import { duration } from '../burn/proof-store.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { Fault } from '../fields/TaskProgress.tsx';
import { saveFile } from '../files/save-file.ts';
import { useTask } from '../remote/task.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { pdfOf } from './make-papers.ts';
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
  const task = useTask();
  const busy = task.use((state) => state.busy);
  const fault = task.use((state) => state.fault);
  const [kind, setKind] = useState<'pdf' | 'html'>('pdf');
  const save = (next: 'pdf' | 'html') => {
    setKind(next);
    inBackground(task.run('Setting the page', async () => savePaper(await make(), fileName, next)));
  };
  const label = (of: 'pdf' | 'html', idle: string) => (busy && of === kind ? `${busy}…` : idle);
  return (
    <>
      <div className="button-pair">
        <Button isDisabled={isDisabled || busy !== null} onPress={() => save('pdf')}>
          {label('pdf', `Save the ${what}, PDF`)}
        </Button>
        <Button className="quiet" isDisabled={isDisabled || busy !== null} onPress={() => save('html')}>
          {label('html', 'as web page')}
        </Button>
      </div>
      <Fault words={fault} />
    </>
  );
}

/** Saves a paper as a document to print or as a page. @throws Error with a message for people. */
export async function savePaper(paper: Paper, name: string, kind: 'pdf' | 'html'): Promise<void> {
  if (kind === 'html') {
    const { letterRules } = await import('../../base/letters.ts');
    saveFile(`${name}.html`, new TextEncoder().encode(paperHtml(paper, letterRules())), 'text/html');
    return;
  }
  saveFile(`${name}.pdf`, await pdfOf(paper), 'application/pdf');
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
  const key = fileKey(file);
  const outcome = files.outcomes[key];
  const isAsked = files.asked === key;
  const isBusy = files.task.use((state) => state.busy !== null);
  const making = files.task.use((state) => (isAsked ? state.busy : null));
  const share = files.task.use((state) => (isAsked ? state.share : 0));
  const fault = files.task.use((state) => (isAsked ? state.fault : null));
  return (
    <div className="file-button">
      <div className="button-pair">
        <Button isDisabled={isDisabled || isBusy} onPress={() => files.make(file)}>
          {label}
        </Button>
        {making && (
          <Button className="quiet" onPress={files.task.stop}>
            Stop
          </Button>
        )}
      </div>
      {making ? (
        <p className="progress hint" role="status">
          <span>{making}</span>
          <i style={{ width: `${100 * share}%` }} />
        </p>
      ) : (
        hint && <p className="hint">{hint}</p>
      )}
      {outcome && 'saved' in outcome && (
        <p className="small-print" role="status">
          Saved {outcome.saved.name}, {size(outcome.saved.bytes)}
          {outcome.saved.timeS !== null && `, ${duration(outcome.saved.timeS)} of burning`}.{' '}
          <span title={`SHA-256 ${outcome.saved.sha256}`}>SHA-256 {outcome.saved.sha256.slice(0, 12)}…</span>
        </p>
      )}
      {outcome &&
        'saved' in outcome &&
        outcome.saved.cautions.map((caution) => (
          <p className="warning" key={caution}>
            {caution}
          </p>
        ))}
      {outcome && 'refusals' in outcome && outcome.piece === piece && <Refusals refusals={outcome.refusals} />}
      <Fault words={fault} />
    </div>
  );
}

const size = (bytes: number): string =>
  bytes < 1e6 ? `${Math.ceil(bytes / 1e3)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
