import { useState } from 'react';
import { Button } from 'react-aria-components';
import { RemoteLost } from '../../base/remote/remote.ts';
import { breathe } from '../../base/stop.ts';
import { fieldOf } from '../../piece/fields.ts';
import { type Finish, type PriceRow, type PriceSize, pricePaper, priceRow, sizedPiece } from '../../shop/prices.ts';
import { ask, forgetPhoto, openPhoto } from '../burn/proof-remote.ts';
import { duration } from '../burn/proof-store.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { Fault, TaskProgress } from '../fields/TaskProgress.tsx';
import { PairSwitch, ValueControl } from '../fields/ValueControl.tsx';
import { photoBytes } from '../files/photo-bytes.ts';
import { PaperButtons } from '../outputs/PaperButtons.tsx';
import { createTask, type TaskHow } from '../remote/task.ts';
import { openDatabase } from '../store/database.ts';
import { keptPhoto } from '../store/library.ts';
import { makerOf, useMakerStore } from '../store/maker.ts';
import { openPieces, setBoard, useBoardStore } from './board-store.ts';

const pricing = createTask();

/** More do not fit across a page. */
const MOST_FINISHES = 5;

const MOST_SIZES = 12;

interface Priced {
  readonly rows: readonly PriceRow[];
  readonly finishes: readonly Finish[];
}

/** What the maker charges: sizes down, finishes across, by the sums of the quote. */
export function PricesView() {
  const lines = useBoardStore((state) => state.lines);
  const chosen = useBoardStore((state) => state.chosen);
  const [sizes, setSizes] = useState<readonly PriceSize[] | null>(null);
  const [priced, setPriced] = useState<Priced | null>(null);
  const [costs, setCosts] = useState(false);
  const busy = pricing.use((state) => state.busy !== null);
  const fault = pricing.use((state) => state.fault);
  const finishes = (lines ?? []).filter(({ id, summary, row }) => chosen.has(id) && summary && row.photo);
  const first = finishes[0]?.summary;
  const shown: readonly PriceSize[] =
    sizes ?? (first ? [{ widthMm: first.widthMm, heightMm: first.heightMm, slabCost: null }] : []);
  if (finishes.length === 0 || finishes.length > MOST_FINISHES) {
    return (
      <div className="board-list">
        <div className="board-empty">
          <h3>{finishes.length === 0 ? 'What do your finishes cost?' : `At most ${MOST_FINISHES} finishes`}</h3>
          <p>
            Choose one to {MOST_FINISHES} pieces on the board, each finished as you sell it. Their coats, machine,
            passes and rates make a list of prices by size.
          </p>
          <Button className="wide sheet-main" onPress={() => setBoard({ look: 'pieces' })}>
            To the board
          </Button>
        </div>
      </div>
    );
  }
  const edit = (at: number, part: Partial<PriceSize>) =>
    setSizes(shown.map((size, i) => (i === at ? { ...size, ...part } : size)));
  const work = async () => {
    const ids = finishes.map(({ id }) => id);
    const found = await pricing.run('Working out the prices', (how) => priceAll(ids, shown, how));
    if (found) setPriced(found);
  };
  return (
    <div className="shop-view">
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: by keys it is scrolled from here */}
      <section className="shop-main" aria-label="The prices" tabIndex={0}>
        {busy ? <TaskProgress of={pricing} label="The prices" /> : null}
        <Fault words={fault} />
        {priced ? (
          <PriceTable {...priced} />
        ) : (
          <p className="plain">
            For {finishes.map(({ title }) => `“${title}”`).join(', ')}. Give the sizes, then have the prices worked out:
            outline and picture grow with the slab, and the burn is timed anew for each.
          </p>
        )}
      </section>
      <aside className="shop-side" aria-label="Sizes">
        {shown.map((size, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: sizes are places of a list
          <section className="shop-terms" aria-label={`Size ${i + 1}`} key={i}>
            <h3>Size {i + 1}</h3>
            <ValueControl
              of={fieldOf('slab.widthMm')}
              hint=""
              value={size.widthMm}
              onChange={(widthMm) => edit(i, { widthMm })}
            />
            <ValueControl
              of={fieldOf('slab.heightMm')}
              hint=""
              value={size.heightMm}
              onChange={(heightMm) => edit(i, { heightMm })}
            />
            {shown.length > 1 && (
              <Button className="quiet" onPress={() => setSizes(shown.filter((_, at) => at !== i))}>
                Take size {i + 1} away
              </Button>
            )}
          </section>
        ))}
        <Button
          className="wide"
          isDisabled={shown.length >= MOST_SIZES}
          onPress={() => {
            const last = shown[shown.length - 1];
            setSizes([...shown, { ...last, widthMm: 1.25 * last.widthMm, heightMm: 1.25 * last.heightMm }]);
          }}
        >
          Another size
        </Button>
        <Button className="wide sheet-main" isDisabled={busy} onPress={() => inBackground(work())}>
          Work out the prices
        </Button>
        {priced && (
          <>
            <PairSwitch
              label="The paper is for"
              value={costs ? 'me' : 'clients'}
              options={[
                { id: 'clients', label: 'Clients' },
                { id: 'me', label: 'Me' },
              ]}
              onChange={(id) => setCosts(id === 'me')}
              hint="Yours also says minutes, paint and what each costs."
            />
            <PaperButtons
              what="price list"
              fileName="prices"
              isDisabled={false}
              make={async () => {
                const { piece } = priced.finishes[0];
                const maker = makerOf(piece, useMakerStore.getState());
                return pricePaper({ rows: priced.rows, piece, maker, costs });
              }}
            />
          </>
        )}
      </aside>
    </div>
  );
}

function PriceTable({ rows, finishes }: Priced) {
  const [{ piece }] = finishes;
  const money = new Intl.NumberFormat(undefined, { style: 'currency', currency: piece.quote.currency });
  const sizes = [...new Set(rows.map(({ size }) => size))];
  return (
    <table className="shop-prices">
      <thead>
        <tr>
          <th scope="col">Slab</th>
          {finishes.map(({ name }) => (
            <th scope="col" key={name}>
              {name}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {sizes.map((size) => (
          <tr key={`${size.widthMm} ${size.heightMm}`}>
            <th scope="row">
              {Math.round(size.widthMm)} × {Math.round(size.heightMm)} mm
            </th>
            {rows
              .filter((row) => row.size === size)
              .map(({ finish, sum, paintMl }) => (
                <td key={finish}>
                  <b>{money.format(sum.total)}</b>
                  <small className="shop-made">
                    {duration(60 * sum.machineMinutes)} of burning, {Math.ceil(paintMl)} mL of paint
                  </small>
                </td>
              ))}
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** Each finish at each size; its photograph is open only while it is its turn. */
async function priceAll(ids: readonly string[], sizes: readonly PriceSize[], how: TaskHow): Promise<Priced> {
  const database = await openDatabase();
  const rows: PriceRow[] = [];
  const finishes: Finish[] = [];
  const names = new Set<string>();
  for (const [i, { piece, photo }] of (await openPieces(ids, how.signal)).entries()) {
    let name = piece.name || 'Untitled piece';
    for (let number = 2; names.has(name); number++) name = `${piece.name || 'Untitled piece'} (${number})`;
    names.add(name);
    const bytes = photo && (photoBytes(photo.key) ?? (await keptPhoto(database, photo.key)));
    if (!photo || !bytes)
      throw new Error(
        `The photograph of “${name}” is missing in this browser: open the piece and give it that file again.`,
      );
    await openPhoto(photo.key, bytes).catch((error: Error) => {
      throw error instanceof RemoteLost ? error : new Error(`The photograph of “${name}” ${error.message}`);
    });
    const finish = { name, piece };
    finishes.push(finish);
    try {
      for (const [j, size] of sizes.entries()) {
        await breathe(how.signal);
        how.onProgress((i + j / sizes.length) / ids.length);
        const asks = { piece: sizedPiece(finish, size), photoKey: photo.key };
        const [seconds = 0] = await ask('option-seconds', asks, { signal: how.signal });
        rows.push(priceRow(finish, size, seconds));
      }
    } finally {
      if (photoBytes(photo.key) === undefined) forgetPhoto(photo.key);
    }
  }
  return { rows, finishes };
}
