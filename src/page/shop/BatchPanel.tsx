import { useEffect, useState } from 'react';
import { Button, Dialog, DialogTrigger, Heading, Popover } from 'react-aria-components';
import { renewalWords } from '../../shop/renewal.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { BriefCautions } from '../fields/BriefCautions.tsx';
import { TaskProgress } from '../fields/TaskProgress.tsx';
import {
  type BatchTask,
  batchTask,
  beginBatch,
  dismissBatch,
  failuresOf,
  goOnWithBatch,
  isOver,
  type Run,
  readBatch,
  repeatFailures,
  saveResults,
  TASKS,
  useBatchStore,
} from './batch.ts';
import { type Line, useBoardStore } from './board-store.ts';
import { Ticks } from './Ticks.tsx';

const WORDS: Readonly<Record<BatchTask, { readonly label: string; readonly note: string }>> = {
  settings: { label: 'Find settings', note: 'and set the best of them; undo takes them back' },
  proof: { label: 'Proof and odds', note: 'what is still true is not computed again' },
  files: { label: 'Files for the machine', note: 'passes, laps, drawing' },
  sheet: { label: 'Bench sheets', note: 'PDF' },
  quote: { label: 'Quotes', note: 'PDF' },
};

/** What is to be done with the pieces that are chosen, one after the other. */
export function BatchOrder({ chosen }: { chosen: readonly string[] }) {
  const [tasks, setTasks] = useState<readonly BatchTask[]>(['proof']);
  const isBusy = batchTask.use((state) => state.busy !== null);
  const files = useBatchStore((state) => state.files);
  return (
    <DialogTrigger>
      <Button className="board-work" isDisabled={isBusy || chosen.length === 0}>
        Work through…
      </Button>
      <Popover className="choice-popover board-copy" placement="top start">
        <Dialog aria-label="Work through the pieces">
          {({ close }) => (
            <>
              <Heading slot="title">
                Work through {chosen.length === 1 ? 'one piece' : `${chosen.length} pieces`}
              </Heading>
              <Ticks label="What to do with each" all={TASKS} words={WORDS} chosen={tasks} onChange={setTasks} />
              <Button
                className="wide sheet-main"
                isDisabled={tasks.length === 0}
                onPress={() => {
                  close();
                  inBackground(beginBatch(chosen, tasks));
                }}
              >
                Begin
              </Button>
              <p className="hint">
                It goes on while the board is closed, and can be taken up again after the page was. What fails is listed
                and stops nothing.
                {files > 0 && ' Files of the run before that are not saved are let go of.'}
              </p>
            </>
          )}
        </Dialog>
      </Popover>
    </DialogTrigger>
  );
}

/** What new numbers changed, of those pieces that were proofed with them. */
function changeWords({ renewed, done }: Run, lines: readonly Line[]): string {
  if (!renewed) return '';
  const outlooks = Object.entries(renewed.before)
    .filter(([id]) => done[id] === null)
    .map(([id, before]) => ({ before, after: lines.find((line) => line.id === id)?.proof?.foretold.accepted ?? null }));
  return outlooks.length === 0 ? '' : ` With the new numbers of “${renewed.by}”: ${renewalWords(outlooks)}`;
}

/** How far the run is, what it made, and what could not be done. */
export function BatchPanel() {
  const run = useBatchStore((state) => state.run);
  const files = useBatchStore((state) => state.files);
  const elsewhere = useBatchStore((state) => state.elsewhere);
  const busy = batchTask.use((state) => state.busy !== null);
  const fault = batchTask.use((state) => state.fault);
  const lines = useBoardStore((state) => state.lines);
  useEffect(() => inBackground(readBatch()), []);
  if (busy) {
    return (
      <section className="board-news" aria-label="Work on the pieces">
        <TaskProgress of={batchTask} label="Work on the pieces" />
      </section>
    );
  }
  if (!run) return null;
  const failures = failuresOf(run, (id) => lines?.find((line) => line.id === id)?.title ?? 'A piece');
  const through = Object.keys(run.done).length;
  const over = isOver(run);
  const well = through - failures.length;
  return (
    <section className="board-news" aria-label="Work on the pieces">
      {elsewhere ? (
        <p>A run over {run.ids.length} pieces is under way in another tab.</p>
      ) : over ? (
        <p>
          {well} of {run.ids.length} done{files > 0 && `; ${files === 1 ? 'one file is' : `${files} files are`} ready`}.
          {changeWords(run, lines ?? [])}
        </p>
      ) : (
        <p>
          A run over {run.ids.length === 1 ? 'one piece' : `${run.ids.length} pieces`} stopped after {through}. What is
          done is kept.
        </p>
      )}
      {fault && <p className="warning">{fault}</p>}
      {failures.length > 0 && (
        <ul>
          {failures.map(({ name, reason }, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: pieces may have one name
            <li key={i}>
              <b>{name}</b> {reason}
            </li>
          ))}
        </ul>
      )}
      {files > 0 && run.tasks.includes('files') && <BriefCautions />}
      <div className="board-ways-on">
        {!over && !elsewhere && (
          <Button className="board-work" onPress={() => inBackground(goOnWithBatch())}>
            Go on
          </Button>
        )}
        {files > 0 && (
          <Button className={over ? 'board-work' : 'quiet'} onPress={() => inBackground(saveResults())}>
            Save the files as one archive
          </Button>
        )}
        {over && failures.length > 0 && (
          <Button className="quiet" onPress={() => inBackground(repeatFailures())}>
            Try those again
          </Button>
        )}
        {!elsewhere && (
          <Button className="quiet" onPress={() => inBackground(dismissBatch())}>
            {files > 0 ? 'Dismiss with its files' : 'Dismiss'}
          </Button>
        )}
      </div>
    </section>
  );
}
