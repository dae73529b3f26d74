import { memo, type ReactNode, useEffect, useRef, useState } from 'react';
import { Button } from 'react-aria-components';
import { ORDER_STATES, type OrderState, type Piece } from '../../piece/schema.ts';
import { LIKELY, OPEN, SURE } from '../../studies/diagnose/finding.ts';
import { duration } from '../burn/proof-store.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { saveKeptFile } from '../store/open-kept.ts';
import { editPieces, type Line, setBoard, trying } from './board-store.ts';
import { Face } from './Face.tsx';
import { dueWords, STATE_WORDS } from './words.ts';

interface PieceRowProps {
  line: Line;
  /** From the list's top, CSS pixels. */
  top: number;
  place: number;
  count: number;
  isChosen: boolean;
  /** It lies on the table here; it is open in another tab. */
  isHere: boolean;
  isHeld: boolean;
  isNaming: boolean;
  onOpen: (id: string) => void;
  /** Asks what else can be done with it; the place is where that was pressed. */
  onMenu: (id: string, place: Element) => void;
}

/** A piece of the board, whose order is changed in place. */
export const PieceRow = memo(function PieceRow({
  line,
  top,
  place,
  count,
  isChosen,
  isHere,
  isHeld,
  isNaming,
  onOpen,
  onMenu,
}: PieceRowProps) {
  const { id, title, summary, row } = line;
  const locked = isHeld && !isHere;
  const edit = (what: string, change: (piece: Piece) => Piece) =>
    inBackground(editPieces(`${what} of “${title}”`, [id], change));
  const choose = (on: boolean) =>
    setBoard(({ chosen }) => {
      const next = new Set(chosen);
      if (on) next.add(id);
      else next.delete(id);
      return { chosen: next };
    });
  const rename = (name: string | null) => {
    setBoard({ naming: null });
    if (name !== null) edit('Name', (piece) => ({ ...piece, name: name.slice(0, 200) }));
  };
  return (
    <li
      className={`board-row${isChosen ? ' board-row-chosen' : ''}`}
      style={{ transform: `translateY(${top}px)` }}
      aria-label={title}
      aria-posinset={place + 1}
      aria-setsize={count}
    >
      <label className="board-check">
        <input
          type="checkbox"
          checked={isChosen}
          aria-label={`Choose ${title}`}
          onChange={(event) => choose(event.currentTarget.checked)}
        />
      </label>
      <Face line={line} />
      <div className="board-name">
        {isNaming ? <PieceName name={title} onDone={rename} /> : <b title={title}>{title}</b>}
        <small>{row.fault ?? aboutWords(line, isHere, isHeld)}</small>
      </div>
      {summary && (
        <>
          <OrderFields line={line} isDisabled={locked} edit={edit} />
          <p className="board-minutes">{minutesWords(line)}</p>
          <Verdict line={line} />
        </>
      )}
      <div className="board-ways">
        {row.fault === null ? (
          <Button className="quiet" isDisabled={isHere} aria-label={`Open ${title}`} onPress={() => onOpen(id)}>
            Open
          </Button>
        ) : (
          <Button className="quiet" onPress={() => inBackground(trying(() => saveKeptFile(id)))}>
            Save as a file
          </Button>
        )}
        <Button
          className="pin-more"
          aria-label={`What to do with ${title}`}
          aria-haspopup="menu"
          onPress={({ target }) => onMenu(id, target)}
        >
          <span aria-hidden="true">⋯</span>
        </Button>
      </div>
    </li>
  );
});

/** What it is, in a line: where it is open, size, and paint, which goes by its name on the shelf. */
function aboutWords({ summary }: Line, isHere: boolean, isHeld: boolean): string {
  if (!summary) return '';
  const { widthMm, heightMm, paints, wood, shelfEntry } = summary;
  const where = isHere ? 'on the table' : isHeld ? 'open in another tab' : null;
  const paint =
    paints.length === 0
      ? wood.toLowerCase()
      : paints
          .map(({ name }) => name)
          .toReversed()
          .join(' over ');
  const size = `${Math.round(widthMm)} × ${Math.round(heightMm)} mm`;
  return [where, size, shelfEntry?.name ?? paint].filter(Boolean).join(' · ');
}

function minutesWords({ summary, isStale }: Line): ReactNode {
  if (!summary || summary.burnMinutes === null) return <span className="board-none">–</span>;
  const { burnMinutes, order } = summary;
  return (
    <>
      <span className={isStale ? 'board-old' : undefined}>{duration(60 * burnMinutes)}</span>
      {order.quantity > 1 && <small>{duration(60 * burnMinutes * order.quantity)} in all</small>}
    </>
  );
}

/** Whether it will come out, as far as that was computed. */
function Verdict({ line: { summary, isStale } }: { line: Line }) {
  if (!summary || summary.accepted === null) {
    return (
      <p className="board-verdict board-none">
        <small>Not proofed yet</small>
      </p>
    );
  }
  const { accepted, verdict } = summary;
  const outlook = accepted >= SURE ? 'well' : accepted >= LIKELY ? 'likely' : accepted >= OPEN ? 'open' : 'badly';
  const mark = { well: '✓', likely: '✓', open: '?', badly: '!' }[outlook];
  return (
    <p className={`board-verdict board-${isStale ? 'stale' : outlook}`} title={verdict ?? undefined}>
      <i aria-hidden="true">{isStale ? '…' : mark}</i>
      <span>
        <b>{Math.round(100 * accepted)} of 100</b>
        <small>{isStale ? 'out of date: it was changed since' : verdict}</small>
      </span>
    </p>
  );
}

interface OrderFieldsProps {
  line: Line;
  isDisabled: boolean;
  edit: (what: string, change: (piece: Piece) => Piece) => void;
}

/** Who it is for, when it is due, how far it is and how many there are of it. */
function OrderFields({ line: { title, summary }, isDisabled, edit }: OrderFieldsProps) {
  const { client = '', order } = summary ?? {};
  if (!order) return null;
  const editOrder = (what: string, part: Partial<Piece['order']>) =>
    edit(what, (piece) => ({ ...piece, order: { ...piece.order, ...part } }));
  const due = order.dueOn === null ? null : dueWords(order.dueOn, order.state);
  return (
    <>
      <span className="board-client">
        <Draft
          type="text"
          label={`Client of ${title}`}
          placeholder="Client"
          value={client}
          isDisabled={isDisabled}
          onDone={(text) => edit('Client', (piece) => ({ ...piece, quote: { ...piece.quote, client: text.trim() } }))}
        />
      </span>
      <span className={`board-due${due?.isLate ? ' board-late' : due?.isSoon ? ' board-soon' : ''}`}>
        <Draft
          type="date"
          label={`Due date of ${title}`}
          value={order.dueOn ?? ''}
          isDisabled={isDisabled}
          onDone={(text) => editOrder('Due date', { dueOn: text === '' ? null : text })}
        />
        {due && due.words !== '' && <small>{due.words}</small>}
      </span>
      <span className="board-state">
        <select
          aria-label={`State of ${title}`}
          className={`state-${order.state}`}
          value={order.state}
          disabled={isDisabled}
          onChange={(event) => editOrder('State', { state: event.currentTarget.value as OrderState })}
        >
          {ORDER_STATES.map((state) => (
            <option key={state} value={state}>
              {STATE_WORDS[state]}
            </option>
          ))}
        </select>
      </span>
      <span className="board-count">
        <Draft
          type="number"
          label={`Slabs of ${title}`}
          value={String(order.quantity)}
          isDisabled={isDisabled}
          onDone={(text) => {
            const quantity = Math.min(500, Math.max(1, Math.round(Number(text) || 1)));
            editOrder('Number of slabs', { quantity });
          }}
        />
      </span>
    </>
  );
}

/** Rest after which what was typed counts: a date is typed part by part. */
const REST_MS = 900;

interface DraftProps {
  type: 'text' | 'date' | 'number';
  label: string;
  placeholder?: string;
  value: string;
  isDisabled: boolean;
  onDone: (text: string) => void;
}

/** A field that counts once it is left or the hand rests: each change is a step of undo. Escape leaves it as it was. */
function Draft({ type, label, placeholder, value, isDisabled, onDone }: DraftProps) {
  const [text, setText] = useState(value);
  const timer = useRef<ReturnType<typeof setTimeout>>(undefined);
  useEffect(() => setText(value), [value]);
  const done = (now: string) => {
    clearTimeout(timer.current);
    if (now !== value) onDone(now);
  };
  return (
    <input
      type={type}
      aria-label={label}
      placeholder={placeholder}
      value={text}
      disabled={isDisabled}
      maxLength={200}
      {...(type === 'number' && { min: 1, max: 500 })}
      onChange={(event) => {
        const now = event.currentTarget.value;
        setText(now);
        clearTimeout(timer.current);
        // An emptied date or number is about to be typed anew.
        if (type === 'text' || now !== '') timer.current = setTimeout(() => done(now), REST_MS);
      }}
      onKeyDown={(event) => {
        if (event.key === 'Enter') done(event.currentTarget.value);
        if (event.key !== 'Escape' || text === value) return;
        event.stopPropagation();
        clearTimeout(timer.current);
        setText(value);
      }}
      onBlur={(event) => {
        // A date that is half typed reads as none.
        if (type === 'date' && event.currentTarget.validity.badInput) setText(value);
        else done(event.currentTarget.value);
      }}
    />
  );
}

/** A piece's name while it is being changed. */
function PieceName({ name, onDone }: { name: string; onDone: (name: string | null) => void }) {
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => {
    // The menu that was chosen from takes the focus back as it closes.
    const timer = setTimeout(() => field.current?.select(), 60);
    return () => clearTimeout(timer);
  }, []);
  const done = (text: string) => onDone(text.trim() === '' || text === name ? null : text);
  return (
    <input
      ref={field}
      className="piece-rename"
      aria-label={`New name of ${name}`}
      type="text"
      maxLength={200}
      defaultValue={name}
      onKeyDown={(event) => {
        event.stopPropagation();
        if (event.key === 'Enter') done(event.currentTarget.value);
        if (event.key === 'Escape') onDone(null);
      }}
      onBlur={(event) => {
        if (document.activeElement !== field.current) done(event.target.value);
      }}
    />
  );
}
