import { useMemo } from 'react';
import { Button } from 'react-aria-components';
import { usersOf } from '../../shop/renewal.ts';
import { referTo, type ShelfEntry, takeFromShelf } from '../../studies/calibrate/shelf/shelf.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { batchTask, beginBatch, useBatchStore } from './batch.ts';
import { boardTask, editPieces, type Line, useBoardStore } from './board-store.ts';

/** Offers to give pieces the new numbers of an entry of the shelf that was calibrated since they took theirs. */
export function RenewOffers() {
  const lines = useBoardStore((state) => state.lines);
  const shelf = useBoardStore((state) => state.shelf);
  const files = useBatchStore((state) => state.files);
  const elsewhere = useBatchStore((state) => state.elsewhere);
  const isWorking = batchTask.use((state) => state.busy !== null);
  const isChanging = boardTask.use((state) => state.busy !== null);
  const offers = useMemo(
    () => shelf.map((entry) => ({ entry, users: usersOf(entry, lines ?? []) })).filter(({ users }) => users.length > 0),
    [shelf, lines],
  );
  if (isWorking || isChanging || elsewhere) return null;
  return offers.map(({ entry, users }) => (
    <section key={entry.id} className="board-news" aria-label={`New numbers of ${entry.name}`}>
      <p>
        “{entry.name}” has new numbers, of {entry.date}.{' '}
        {users.length === 1 ? 'One piece still to be burned has' : `${users.length} pieces still to be burned have`}{' '}
        older ones.
        {files > 0 && ' Files of the run before that are not saved are let go of.'}
      </p>
      <div className="board-ways-on">
        <Button className="board-work" onPress={() => inBackground(renew(entry, users))}>
          {users.length === 1 ? 'Renew and proof it' : `Renew and proof the ${users.length}`}
        </Button>
      </div>
    </section>
  ));
}

/** Has pieces take an entry's numbers and proofs them. What is open in another tab stays as it is and is named. */
async function renew(entry: ShelfEntry, users: readonly Line[]): Promise<void> {
  const before = Object.fromEntries(
    users.map(({ id, proof, isStale }) => [id, proof && !isStale ? proof.foretold.accepted : null]),
  );
  const { id: entryId, sum } = referTo(entry);
  await editPieces(
    `Numbers of “${entry.name}”`,
    users.map(({ id }) => id),
    (piece) => (piece.shelfEntry?.id === entryId ? takeFromShelf(piece, entry) : piece),
  );
  const { lines } = useBoardStore.getState();
  const renewed = (lines ?? []).filter(({ id, summary }) => id in before && summary?.shelfEntry?.sum === sum);
  if (renewed.length === 0) return;
  await beginBatch(
    renewed.map(({ id }) => id),
    ['proof'],
    { by: entry.name, before },
  );
}
