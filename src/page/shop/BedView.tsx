import { useEffect, useState } from 'react';
import { Button } from 'react-aria-components';
import { fileName } from '../../base/file-name.ts';
import { fieldOf } from '../../piece/fields.ts';
import { type BedSize, laidPiece } from '../../shop/bed.ts';
import { togetherFault } from '../../shop/plate.ts';
import { ask } from '../burn/proof-remote.ts';
import { DRAWING } from '../burn/worker/questions.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { BriefCautions } from '../fields/BriefCautions.tsx';
import { Fault, TaskProgress } from '../fields/TaskProgress.tsx';
import { PairSwitch, ValueControl } from '../fields/ValueControl.tsx';
import { createTask } from '../remote/task.ts';
import { openDatabase } from '../store/database.ts';
import { keptPhoto } from '../store/library.ts';
import { type Opened, openPieces, useBoardStore, waitingOf } from './board-store.ts';
import { saveArchive } from './save-archive.ts';
import { askShop } from './shop-remote.ts';
import type { FullBed, ToLay } from './shop-worker.ts';

const laying = createTask();

const saving = createTask();

interface Laid {
  readonly beds: readonly FullBed[];
  readonly left: readonly string[];
  readonly pieces: ReadonlyMap<string, Opened>;
  /** Names of pieces without a photograph: nobody knows how far the head travels for them. */
  readonly bare: readonly string[];
  readonly size: BedSize;
}

const titled = ({ piece }: Opened): string => piece.name || 'Untitled piece';

/** Several slabs on one bed: where to put them down, and the programs for them. */
export function BedView() {
  const lines = useBoardStore((state) => state.lines);
  const chosen = useBoardStore((state) => state.chosen);
  const [size, setSize] = useState<BedSize | null>(null);
  const [laid, setLaid] = useState<Laid | null>(null);
  const [together, setTogether] = useState(false);
  const busy = laying.use((state) => state.busy !== null);
  const fault = laying.use((state) => state.fault);
  const isSaving = saving.use((state) => state.busy !== null);
  const saveFault = saving.use((state) => state.fault);
  useEffect(() => {
    const lay = async () => {
      const ids = waitingOf(lines ?? [], chosen).map(({ id }) => id);
      const found = await laying.run('Laying the slabs', async ({ signal }) => layOut(ids, size, signal));
      if (found) setLaid(found);
    };
    const timer = setTimeout(() => inBackground(lay()), 150);
    return () => clearTimeout(timer);
  }, [lines, chosen, size]);

  if (lines !== null && waitingOf(lines, chosen).length === 0) {
    return (
      <div className="board-list">
        <div className="board-empty">
          <h3>No slab to lay</h3>
          <p>Pieces that are still to be burned are laid here, as many on one bed as have room on it.</p>
        </div>
      </div>
    );
  }
  const onBeds = laid?.beds.flatMap(({ laid: slabs }) => slabs.map(({ id }) => laid.pieces.get(id)!.piece)) ?? [];
  const joinFault = together && onBeds.length > 0 ? togetherFault(onBeds) : null;
  const change = (part: Partial<BedSize>) => laid && setSize({ ...laid.size, ...part });
  return (
    <div className="shop-view">
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: by keys it is scrolled from here */}
      <section className="shop-main" aria-label="The beds, drawn" tabIndex={0}>
        {busy && !laid && <TaskProgress of={laying} label="The beds" />}
        <Fault words={fault} />
        {laid?.beds.map((bed, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: beds are places
          <figure className="shop-bed" key={i}>
            <figcaption>
              <b>Bed {i + 1}</b> {bed.laid.length === 1 ? 'one slab' : `${bed.laid.length} slabs`}
            </figcaption>
            <img
              src={`data:image/svg+xml,${encodeURIComponent(bed.drawing)}`}
              alt={`Bed ${i + 1} from above: ${bed.laid
                .map(({ id, xMm, yMm, turnRad }, k) => {
                  const turned = turnRad === 0 ? '' : ', turned by a quarter';
                  return `${k + 1} ${titled(laid.pieces.get(id)!)} at ${xMm}, ${yMm} mm${turned}`;
                })
                .join('; ')}`}
            />
          </figure>
        ))}
      </section>
      <aside className="shop-side" aria-label="The beds">
        {laid && (
          <section className="shop-sums">
            <h3>
              {laid.beds.length === 1 ? 'One bed' : `${laid.beds.length} beds`} for{' '}
              {onBeds.length === 1 ? 'one slab' : `${onBeds.length} slabs`}
            </h3>
            <p className="plain">
              {chosen.size === 0 ? 'All pieces that wait.' : 'The pieces that are chosen on the board.'} The largest is
              laid first, each as near to the front as can be.
            </p>
            {laid.left.length > 0 && (
              <p className="warning">
                Too large for this bed, turned or not, with their run-ups:{' '}
                {[...new Set(laid.left)].map((id) => titled(laid.pieces.get(id)!)).join(', ')}.
              </p>
            )}
            {laid.bare.length > 0 && <p className="warning">Without a photograph: {laid.bare.join(', ')}.</p>}
          </section>
        )}
        {laid && (
          <section className="shop-terms">
            <h3>The bed</h3>
            <ValueControl
              of={fieldOf('placement.bedWidthMm')}
              hint="From left to right, as far as the head goes."
              value={laid.size.widthMm}
              onChange={(widthMm) => change({ widthMm })}
            />
            <ValueControl
              of={fieldOf('placement.bedHeightMm')}
              hint="From front to back."
              value={laid.size.heightMm}
              onChange={(heightMm) => change({ heightMm })}
            />
          </section>
        )}
        <PairSwitch
          label="Programs"
          value={together ? 'bed' : 'slab'}
          options={[
            { id: 'slab', label: 'One a slab' },
            { id: 'bed', label: 'One a bed' },
          ]}
          onChange={(id) => setTogether(id === 'bed')}
          hint="One a bed stops, beam off, after every pass, until you let it go on. A lap round each slab comes with both."
        />
        {joinFault && <p className="warning">{joinFault}</p>}
        <BriefCautions />
        {isSaving ? (
          <TaskProgress of={saving} label="Files of the beds" />
        ) : (
          <Button
            className="wide sheet-main"
            isDisabled={!laid || laid.beds.length === 0 || joinFault !== null}
            onPress={() => laid && inBackground(saveBeds(laid, together))}
          >
            Save drawings and programs
          </Button>
        )}
        <Fault words={saveFault} />
      </aside>
    </div>
  );
}

async function layOut(ids: readonly string[], asked: BedSize | null, signal: AbortSignal): Promise<Laid> {
  const opened = await openPieces(ids, signal);
  // Of those of one size the first due comes first.
  opened.sort((a, b) => (a.piece.order.dueOn ?? NEVER).localeCompare(b.piece.order.dueOn ?? NEVER));
  const pieces = new Map(opened.map((one) => [one.id, one]));
  const slabs = opened.flatMap(({ id, piece, photo }): ToLay[] => (photo ? [{ id, piece, photo }] : []));
  const bare = opened.filter(({ photo }) => !photo).map(titled);
  const { bedWidthMm = 400, bedHeightMm = 400 } = opened[0]?.piece.placement ?? {};
  const size = asked ?? { widthMm: bedWidthMm, heightMm: bedHeightMm };
  const { beds, left } = await askShop('bed', { slabs, bed: size });
  return { beds, left, pieces, bare, size };
}

/** After any day. */
const NEVER = '9999-12-31';

/** A folder for each bed: the drawing to put the slabs down by, what to do, laps and programs. */
async function saveBeds({ beds, pieces, size }: Laid, together: boolean): Promise<void> {
  await saveArchive('beds.zip', saving, 'Writing the files', async ({ signal, onProgress, goOn }, add) => {
    const database = await openDatabase();
    for (const [i, { laid, drawing }] of beds.entries()) {
      const folder = `bed-${i + 1}`;
      await add(`${folder}/${DRAWING}`, new TextEncoder().encode(drawing));
      const slabs = [];
      for (const one of laid) {
        const { piece, photo } = pieces.get(one.id)!;
        const bytes = photo && (await keptPhoto(database, photo.key));
        if (!photo || !bytes)
          throw new Error(
            `The photograph of “${piece.name}” is missing in this browser: open the piece and give it that file again.`,
          );
        const blob = new Blob([bytes as BlobPart]);
        slabs.push({ name: fileName(piece.name), piece: laidPiece(piece, one, size), photo: blob, photoSize: photo });
      }
      let adding = Promise.resolve();
      const answer = await ask(
        'plate',
        { slabs, together },
        {
          signal,
          onProgress: (share, name) => {
            onProgress((i + share) / beds.length);
            goOn(`Bed ${i + 1} of ${beds.length}: ${name}`);
          },
          onPart: ({ name, blob }) => {
            adding = adding.then(() => add(`${folder}/${name}`, blob));
            adding.catch(() => {});
          },
        },
      );
      await adding;
      if ('refusals' in answer)
        throw new Error(`No program can be made for bed ${i + 1}: ${answer.refusals[0].message}`);
      await add(`${folder}/READ ME.txt`, new TextEncoder().encode(answer.words));
    }
  });
}
