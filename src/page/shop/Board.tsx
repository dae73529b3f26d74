import {
  type FocusEvent,
  type KeyboardEvent,
  type ReactNode,
  useCallback,
  useEffect,
  useMemo,
  useRef,
  useState,
} from 'react';
import {
  Button,
  DropZone,
  FileTrigger,
  Heading,
  Menu,
  MenuItem,
  Popover,
  ToggleButton,
  ToggleButtonGroup,
} from 'react-aria-components';
import { ORDER_STATES, type OrderState } from '../../piece/schema.ts';
import { arrange, type BoardView, countStates, SORTS, type SortBy } from '../../shop/board.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { SheetDialog } from '../fields/SheetDialog.tsx';
import { TaskProgress } from '../fields/TaskProgress.tsx';
import { droppedFiles } from '../files/photo-bytes.ts';
import { saveFile } from '../files/save-file.ts';
import { beginBlank, lookAtDemo } from '../store/files.ts';
import { flushPiece, useKeepingStore } from '../store/keeping.ts';
import { openKept, saveKeptFile } from '../store/open-kept.ts';
import type { Leftover } from '../store/records.ts';
import { BatchOrder, BatchPanel } from './BatchPanel.tsx';
import { BedView } from './BedView.tsx';
import {
  binPieces,
  boardTask,
  copyListed,
  editPieces,
  type Line,
  type Look,
  setBoard,
  trying,
  undoStep,
  useBoardStore,
} from './board-store.ts';
import { CopySettings } from './CopySettings.tsx';
import { PieceRow } from './PieceRow.tsx';
import { PlanView } from './PlanView.tsx';
import { PricesView } from './PricesView.tsx';
import { RenewOffers } from './RenewOffers.tsx';
import { JOIN_TYPES, joinFiles, savePieces, savingTask } from './transfer.ts';
import { SORT_WORDS, STATE_WORDS } from './words.ts';
import '../fields/sheet-head.css';
import './board.css';

/** All pieces that this browser keeps: what is due, how far each is, how long it burns, whether it will come out. */
export function Board({ onClose }: { onClose: () => void }) {
  const look = useBoardStore((state) => state.look);
  // What was changed last is to be among them.
  useEffect(() => inBackground(trying(() => flushPiece().catch(() => {}))), []);
  const leaveFor = (work: () => Promise<unknown>) => {
    onClose();
    inBackground(work());
  };
  const byKey = (event: KeyboardEvent) => {
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== 'z') return;
    event.stopPropagation();
    if (event.target instanceof HTMLInputElement && event.target.type !== 'checkbox') return;
    event.preventDefault();
    inBackground(undoStep());
  };
  return (
    <SheetDialog label="Pieces kept in this browser" isOpen onClose={onClose}>
      <DropZone
        className="sheet-table board"
        getDropOperation={() => 'copy'}
        onDrop={(event) => {
          droppedFiles(event.items).then(
            (files) => inBackground(joinFiles(files)),
            (error: Error) => setBoard({ fault: error.message }),
          );
        }}
      >
        {/* biome-ignore lint/a11y/noStaticElementInteractions: it only catches keys of what is in it */}
        <div className="board-sheet" onKeyDown={byKey}>
          <BoardHead onClose={onClose} leaveFor={leaveFor} />
          <BatchPanel />
          <RenewOffers />
          {look === 'pieces' && (
            <>
              <BoardTools />
              <BoardNews />
              <BoardList onOpen={(id) => leaveFor(() => openKept(id))} leaveFor={leaveFor} />
              <ChosenBar />
            </>
          )}
          {look === 'plan' && <PlanView />}
          {look === 'bed' && <BedView />}
          {look === 'prices' && <PricesView />}
        </div>
        <div className="board-drop" aria-hidden="true">
          Drop pieces to have them join
        </div>
      </DropZone>
    </SheetDialog>
  );
}

type LeaveFor = (work: () => Promise<unknown>) => void;

function BoardHead({ onClose, leaveFor }: { onClose: () => void; leaveFor: LeaveFor }) {
  const steps = useBoardStore((state) => state.steps);
  const look = useBoardStore((state) => state.look);
  const chosen = useBoardStore((state) => state.chosen.size);
  const saving = savingTask.use((state) => state.busy !== null);
  const ids = useBoardStore((state) => state.lines)?.map(({ id }) => id) ?? [];
  const last = steps.at(-1);
  return (
    <header className="sheet-head sheet-head-line">
      <Heading slot="title">Pieces</Heading>
      <ToggleButtonGroup
        aria-label="Looked at as"
        className="pair-group board-looks"
        selectionMode="single"
        disallowEmptySelection
        selectedKeys={[look]}
        onSelectionChange={(keys) => setBoard({ look: [...keys][0] as Look })}
      >
        <ToggleButton id="pieces" className="pair-button">
          Board
        </ToggleButton>
        <ToggleButton id="plan" className="pair-button">
          Plan
        </ToggleButton>
        <ToggleButton id="bed" className="pair-button">
          Beds
        </ToggleButton>
        <ToggleButton id="prices" className="pair-button">
          Prices
        </ToggleButton>
      </ToggleButtonGroup>
      {chosen > 0 && (look === 'plan' || look === 'bed') && (
        <Button className="quiet" onPress={() => setBoard({ chosen: new Set() })}>
          {chosen} chosen: take all
        </Button>
      )}
      <span className="spacer" />
      <Button className="quiet" isDisabled={!last} aria-label="Undo" onPress={() => inBackground(undoStep())}>
        <span title={last?.words}>Undo</span>
      </Button>
      <Button className="quiet" onPress={() => leaveFor(lookAtDemo)}>
        Look at the demo
      </Button>
      <Button className="quiet" isDisabled={ids.length === 0 || saving} onPress={() => inBackground(savePieces(ids))}>
        Save all as one file
      </Button>
      <FileTrigger
        allowsMultiple
        acceptedFileTypes={JOIN_TYPES}
        onSelect={(files) => inBackground(joinFiles(files ? [...files] : []))}
      >
        <Button className="quiet">Add piece files…</Button>
      </FileTrigger>
      <Button className="quiet" onPress={() => leaveFor(beginBlank)}>
        New piece
      </Button>
      <Button className="wide sheet-close" onPress={onClose}>
        Close
      </Button>
    </header>
  );
}

/** What is shown of them, and in which order. */
function BoardTools() {
  const lines = useBoardStore((state) => state.lines);
  const view = useBoardStore((state) => state.view);
  const counts = useMemo(() => countStates(lines ?? []), [lines]);
  if (!lines || lines.length === 0) return null;
  const show = (part: Partial<typeof view>) => setBoard({ view: { ...view, ...part } });
  return (
    <div className="board-tools">
      <input
        type="search"
        aria-label="Find pieces"
        placeholder="Find by name, client, paint, wood, machine"
        value={view.words}
        onChange={(event) => show({ words: event.currentTarget.value })}
      />
      <ToggleButtonGroup
        aria-label="State"
        className="pair-group board-states"
        selectionMode="single"
        disallowEmptySelection
        selectedKeys={[view.state]}
        onSelectionChange={(keys) => {
          const [state] = [...keys];
          show({ state: state as OrderState | 'all' });
        }}
      >
        {(['all', ...ORDER_STATES] as const).map((state) => (
          <ToggleButton key={state} id={state} className="pair-button">
            {state === 'all' ? 'All' : STATE_WORDS[state]} <small>{counts[state]}</small>
          </ToggleButton>
        ))}
      </ToggleButtonGroup>
      <label className="board-sort">
        <span>Sorted by</span>
        <select value={view.by} onChange={(event) => show({ by: event.currentTarget.value as SortBy, turned: false })}>
          {SORTS.map((by) => (
            <option key={by} value={by}>
              {SORT_WORDS[by]}
            </option>
          ))}
        </select>
      </label>
    </div>
  );
}

/** What is under way, what was done, and what could not be. */
function BoardNews() {
  const said = useBoardStore((state) => state.said);
  const fault = useBoardStore((state) => state.fault);
  const refused = useBoardStore((state) => state.refused);
  const busy = boardTask.use((state) => state.busy !== null);
  const failed = boardTask.use((state) => state.fault);
  const saving = savingTask.use((state) => state.busy !== null);
  const notSaved = savingTask.use((state) => state.fault);
  const nothing = !busy && !saving && !notSaved && !said && !fault && !failed && refused.length === 0;
  const dismiss = () => {
    setBoard({ said: null, fault: null, refused: [] });
    boardTask.tell({ fault: null });
    savingTask.tell({ fault: null });
  };
  return (
    <div className="board-news" role="status" hidden={nothing}>
      {busy && <TaskProgress of={boardTask} label="On the board" />}
      {saving && <TaskProgress of={savingTask} label="Saving" />}
      {notSaved && <p className="warning">{notSaved}</p>}
      {said && <p>{said}</p>}
      {fault && <p className="warning">Not done: {fault}.</p>}
      {failed && <p className="warning">{failed}</p>}
      {refused.length > 0 && (
        <>
          <p>{refused.length === 1 ? 'One could not be taken:' : `${refused.length} could not be taken:`}</p>
          <ul>
            {refused.map(({ name, reason }, i) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: files may have one name
              <li key={i}>
                <b>{name}</b> {reason}
              </li>
            ))}
          </ul>
        </>
      )}
      {!busy && (
        <Button className="quiet" onPress={dismiss}>
          Dismiss
        </Button>
      )}
    </div>
  );
}

/** Where what is narrower is shown as cards, and how high a row and a card are, CSS pixels: as in board.css. */
const NARROW_PX = 900;

const ROW_PX = 76;

const CARD_PX = 212;

/** Rows beyond what is in sight, so that the keyboard finds the next one and a scroll does not show gaps. */
const BEYOND = 3;

interface Port {
  readonly top: number;
  readonly height: number;
  readonly width: number;
}

/** The lines in order. While one of them is worked on none moves: it would move from under the hand. */
function useArranged(lines: readonly Line[] | null, view: BoardView, isHeld: boolean): readonly Line[] {
  const [order, setOrder] = useState<{ view: BoardView; ids: readonly string[] } | null>(null);
  const arranged = useMemo(() => arrange(lines ?? [], view), [lines, view]);
  const held = isHeld && order?.view === view ? order.ids : null;
  useEffect(() => {
    if (!held) setOrder({ view, ids: arranged.map(({ id }) => id) });
  }, [held, view, arranged]);
  return useMemo(() => {
    if (!held || !lines) return arranged;
    const byId = new Map(lines.map((line) => [line.id, line]));
    const before = held.flatMap((id) => byId.get(id) ?? []);
    const known = new Set(held);
    return [...before, ...arranged.filter(({ id }) => !known.has(id))];
  }, [held, lines, arranged]);
}

/** The pieces in a list of which only what is in sight is made, with the row that has the focus. */
function BoardList({ onOpen, leaveFor }: { onOpen: (id: string) => void; leaveFor: LeaveFor }) {
  const lines = useBoardStore((state) => state.lines);
  const view = useBoardStore((state) => state.view);
  const leftovers = useBoardStore((state) => state.leftovers);
  const held = useBoardStore((state) => state.held);
  const chosen = useBoardStore((state) => state.chosen);
  const here = useKeepingStore((state) => state.id);
  const scroller = useRef<HTMLDivElement>(null);
  const [port, setPort] = useState<Port>({ top: 0, height: 900, width: 1400 });
  const [focused, setFocused] = useState<string | null>(null);
  const shown = useArranged(lines, view, focused !== null);
  const naming = useBoardStore((state) => state.naming);
  const [menu, setMenu] = useState<{ id: string; place: Element } | null>(null);
  const askMenu = useCallback((id: string, place: Element) => setMenu({ id, place }), []);
  const asked = shown.find(({ id }) => id === menu?.id);

  useEffect(() => {
    const element = scroller.current;
    if (!element) return;
    const look = () => {
      const { scrollTop: top, clientHeight: height, clientWidth: width } = element;
      setPort({ top, height, width });
    };
    const observer = new ResizeObserver(look);
    observer.observe(element);
    element.addEventListener('scroll', look, { passive: true });
    return () => {
      observer.disconnect();
      element.removeEventListener('scroll', look);
    };
  }, []);
  // What is asked for anew is looked at from its beginning.
  // biome-ignore lint/correctness/useExhaustiveDependencies: the view is what it follows
  useEffect(() => {
    if (scroller.current) scroller.current.scrollTop = 0;
  }, [view]);

  const pitch = port.width < NARROW_PX ? CARD_PX : ROW_PX;
  const first = Math.max(0, Math.floor(port.top / pitch) - BEYOND);
  const last = Math.min(shown.length - 1, Math.ceil((port.top + port.height) / pitch) + BEYOND);
  const places = Array.from({ length: Math.max(0, last - first + 1) }, (_, i) => first + i);
  const focusedAt = focused === null ? -1 : shown.findIndex(({ id }) => id === focused);
  if (focusedAt >= 0 && (focusedAt < first || focusedAt > last)) places.push(focusedAt);
  const leave = (event: FocusEvent) => {
    if (!event.currentTarget.contains(event.relatedTarget)) setFocused(null);
  };
  const follow = (event: FocusEvent) => {
    const row = event.target.closest('.board-row');
    const place = row ? Number(row.getAttribute('aria-posinset')) - 1 : -1;
    setFocused(shown[place]?.id ?? null);
  };
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: it only looks where the focus is
    <div className="board-list" ref={scroller} onFocus={follow} onBlur={leave}>
      {shown.length > 0 && <ColumnHeads shown={shown} chosen={chosen} />}
      {lines?.length === 0 && leftovers.length === 0 && <NothingKept leaveFor={leaveFor} />}
      {lines !== null && lines.length > 0 && shown.length === 0 && (
        <div className="board-empty">
          <p>No piece is like that.</p>
          <Button className="wide" onPress={() => setBoard({ view: { ...view, words: '', state: 'all' } })}>
            Show all {lines.length}
          </Button>
        </div>
      )}
      <ul className="board-rows" style={{ height: pitch * shown.length }}>
        {places.map((place) => {
          const line = shown[place];
          return (
            <PieceRow
              key={line.id}
              line={line}
              top={place * pitch}
              place={place}
              count={shown.length}
              isChosen={chosen.has(line.id)}
              isHere={line.id === here}
              isHeld={held.has(line.id)}
              isNaming={line.id === naming}
              onOpen={onOpen}
              onMenu={askMenu}
            />
          );
        })}
      </ul>
      {menu && asked && (
        <PieceMenu
          line={asked}
          place={menu.place}
          isHere={asked.id === here}
          isHeld={held.has(asked.id)}
          onClose={() => setMenu(null)}
        />
      )}
      {leftovers.length > 0 && (
        <ul className="board-leftovers">
          {leftovers.map((leftover) => (
            <li key={leftover.name}>
              <b>{leftover.title}</b>
              <small>left by an earlier Foreburn; it cannot be read here and stays as it is</small>
              <Button className="quiet" onPress={() => saveLeftover(leftover)}>
                Save as a file
              </Button>
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}

interface PieceMenuProps {
  line: Line;
  /** What was pressed for it. */
  place: Element;
  isHere: boolean;
  isHeld: boolean;
  onClose: () => void;
}

/** What else can be done with a piece. */
function PieceMenu({ line: { id, title, row }, place, isHere, isHeld, onClose }: PieceMenuProps) {
  const trigger = useRef(place);
  const canEdit = row.fault === null;
  const locked = isHeld && !isHere;
  return (
    <Popover
      aria-label={`What to do with ${title}`}
      className="choice-popover board-popover"
      placement="bottom end"
      triggerRef={trigger}
      isOpen
      onOpenChange={(open) => !open && onClose()}
    >
      <Menu
        aria-label={`What to do with ${title}`}
        className="choice-list"
        autoFocus="first"
        disabledKeys={locked ? ['rename', 'bin'] : isHere ? ['bin'] : []}
        onClose={onClose}
      >
        {canEdit && (
          <MenuItem id="rename" className="choice-item" onAction={() => setBoard({ naming: id })}>
            <span>Rename</span>
          </MenuItem>
        )}
        {canEdit && (
          <MenuItem id="copy" className="choice-item" onAction={() => inBackground(copyListed(id))}>
            <span>Copy</span>
          </MenuItem>
        )}
        <MenuItem id="save" className="choice-item" onAction={() => inBackground(trying(() => saveKeptFile(id)))}>
          <span>Save as a file</span>
        </MenuItem>
        <MenuItem id="bin" className="choice-item" onAction={() => inBackground(binPieces([id]))}>
          <span>Bin</span>
        </MenuItem>
      </Menu>
    </Popover>
  );
}

function NothingKept({ leaveFor }: { leaveFor: LeaveFor }): ReactNode {
  return (
    <div className="board-empty">
      <h3>No pieces yet</h3>
      <p>
        Every piece that you begin is kept here by itself: for whom it is, when it is due, how long it burns, and
        whether it will come out. Drop piece files here to have them join, fifty at once if you like.
      </p>
      <Button className="wide sheet-main" onPress={() => leaveFor(beginBlank)}>
        Begin a piece
      </Button>
    </div>
  );
}

const COLUMNS: readonly (SortBy | 'slabs')[] = ['title', 'client', 'due', 'state', 'slabs', 'minutes', 'odds'];

/** What the columns are; pressed, what the rows are sorted by. */
function ColumnHeads({ shown, chosen }: { shown: readonly Line[]; chosen: ReadonlySet<string> }) {
  const view = useBoardStore((state) => state.view);
  const all = shown.every(({ id }) => chosen.has(id));
  const sortBy = (by: SortBy) => setBoard({ view: { ...view, by, turned: view.by === by ? !view.turned : false } });
  return (
    <div className="board-heads">
      <label className="board-check">
        <input
          type="checkbox"
          aria-label={all ? 'Choose none' : `Choose all ${shown.length} shown`}
          checked={all}
          onChange={() => setBoard({ chosen: all ? new Set() : new Set(shown.map(({ id }) => id)) })}
        />
      </label>
      <span />
      {COLUMNS.map((column) =>
        column === 'slabs' ? (
          <span key={column} className="board-head board-head-slabs">
            Slabs
          </span>
        ) : (
          <Button
            key={column}
            className={`board-head board-head-${column}`}
            aria-pressed={view.by === column}
            onPress={() => sortBy(column)}
          >
            {SORT_WORDS[column]}
            <i aria-hidden="true">{view.by === column ? (view.turned ? '↑' : '↓') : ''}</i>
          </Button>
        ),
      )}
    </div>
  );
}

/** What can be done with all that are chosen. */
function ChosenBar() {
  const chosen = useBoardStore((state) => state.chosen);
  const lines = useBoardStore((state) => state.lines) ?? [];
  if (chosen.size === 0) return null;
  const ids = lines.filter(({ id, summary }) => chosen.has(id) && summary).map(({ id }) => id);
  const what = chosen.size === 1 ? 'one piece' : `${chosen.size} pieces`;
  const setState = (state: OrderState) =>
    editPieces(`State of ${what}`, ids, (piece) => ({ ...piece, order: { ...piece.order, state } }));
  const setDue = (dueOn: string | null) =>
    editPieces(`Due date of ${what}`, ids, (piece) => ({ ...piece, order: { ...piece.order, dueOn } }));
  return (
    <section className="board-chosen" aria-label="With those that are chosen">
      <b>{chosen.size} chosen</b>
      <select
        aria-label="State of those that are chosen"
        value=""
        onChange={(event) => inBackground(setState(event.currentTarget.value as OrderState))}
      >
        <option value="" disabled>
          Set the state
        </option>
        {ORDER_STATES.map((state) => (
          <option key={state} value={state}>
            {STATE_WORDS[state]}
          </option>
        ))}
      </select>
      <label>
        <span>Due</span>
        <input
          type="date"
          aria-label="Due date of those that are chosen"
          onBlur={(event) => {
            const day = event.currentTarget.value;
            event.currentTarget.value = '';
            if (day !== '') inBackground(setDue(day));
          }}
          onKeyDown={(event) => event.key === 'Enter' && event.currentTarget.blur()}
        />
      </label>
      <BatchOrder chosen={ids} />
      <CopySettings lines={lines} chosen={chosen} />
      <Button className="quiet" onPress={() => inBackground(savePieces([...chosen]))}>
        Save as one file
      </Button>
      <Button className="quiet" onPress={() => inBackground(binPieces([...chosen]))}>
        Bin
      </Button>
      <span className="spacer" />
      <Button className="quiet" onPress={() => setBoard({ chosen: new Set() })}>
        Choose none
      </Button>
    </section>
  );
}

/** What an earlier layout held and nobody could read, as a file. */
function saveLeftover({ title, value }: Leftover): void {
  const bytes =
    value instanceof Uint8Array
      ? value
      : new TextEncoder().encode(typeof value === 'string' ? value : JSON.stringify(value));
  saveFile(title, bytes, 'application/octet-stream');
}
