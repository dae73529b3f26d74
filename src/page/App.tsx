import { type CSSProperties, type DragEvent, type KeyboardEvent, useEffect, useMemo, useRef, useState } from 'react';
import { Button, DropZone, Menu, MenuItem, MenuTrigger, Popover, ToggleButton } from 'react-aria-components';
import type { Padding } from '../render/slab/camera-rig.ts';
import type { SlabViewHandle } from '../render/slab/SlabScene.tsx';
import { computeAgain, stopProof } from './burn/proof-remote.ts';
import {
  isJudged,
  likelyNumbers,
  NOW,
  type PinnedProof,
  percent,
  powers,
  setProof,
  useProofStore,
  useShown,
} from './burn/proof-store.ts';
import { Column } from './Column.tsx';
import { Progress, ProofCard } from './compare/ProofCard.tsx';
import { goBackTo, movePin, pinCurrent, renamePin, repeatPin, stopRepeat, unpin } from './compare/pins.ts';
import { inBackground, lazyPart } from './faults/lazy-part.tsx';
import { Section } from './fields/SheetDialog.tsx';
import { PairSwitch, useLengthText } from './fields/ValueControl.tsx';
import { droppedFiles } from './files/photo-bytes.ts';
import { saveFile } from './files/save-file.ts';
import { Beginning } from './piece/Beginning.tsx';
import { OtherPhotograph } from './piece/OtherPhotograph.tsx';
import { beyondWords, endPlacing, flawWords, placeWords } from './render/stage/use-placing.ts';
import { takeFiles } from './store/files.ts';
import { redo, setSession, undo, usePieceStore, useSessionStore } from './store/piece-store.ts';
import { CalibrateSheet } from './studies/calibrate/CalibrateButton.tsx';
import { VerdictLine } from './studies/diagnose/VerdictLine.tsx';
import './render/stage/place-line.css';
import './compare/proof-bar.css';

/** three is half of the page: the column need not wait for it. */
const Stage = lazyPart(() => import('./render/stage/Stage.tsx').then((module) => module.Stage));

/** The bar of proofs: a line while there is but one, cards once there are some to compare. */
const BARE_PX = 52;

const BAR_PX = 116;

/** Below these widths (the second if the page is upright) the column lies under the slab instead of beside it; see styles.css. */
const NARROW_PX = 560;

const UPRIGHT_PX = 960;

const SNUG_PX = 1100;

/** Below this height of a page that lies on its side all that stands round the slab is smaller. */
const LOW_PX = 560;

/** What covers the stage's edges, so that the slab is shown in what is free. A piece that is being begun has a wider column and nothing else. */
function paddingFor({ width, height, beginning, bar, sheet }: Covers): Padding {
  const narrow = width < NARROW_PX || (width < UPRIGHT_PX && width < height);
  if (narrow && beginning) return { left: 16, right: 16, top: 24, bottom: 0.52 * height + 30 };
  // A sheet that is dragged over the slab does not make it smaller.
  if (narrow) return { left: 12, right: 12, top: 205, bottom: Math.min(0.42, sheet) * height + bar + 20 };
  const low = height < LOW_PX && width > height;
  if (low && !beginning) return { left: 304, right: 8, top: 168, bottom: bar + 12 };
  if (beginning) return { left: 414, right: 36, top: 56, bottom: 56 };
  return { left: width <= SNUG_PX ? 340 : 390, right: 36, top: width <= 1400 ? 150 : 124, bottom: bar + 26 };
}

interface Covers {
  readonly width: number;
  readonly height: number;
  readonly beginning: boolean;
  /** Height of the bar of proofs, CSS pixels, and of the sheet, share of the page's. */
  readonly bar: number;
  readonly sheet: number;
}

/** Why the slab may not be there, in words; null where WebGL 2 is not what is missing. */
function withoutGraphics(): string | null {
  if (document.createElement('canvas').getContext('webgl2')) return null;
  return 'The browser gives the page no WebGL 2. Reload the page; if that does not help, turn on hardware acceleration or use another browser. Proofs are computed all the same: their numbers stand on the bar of proofs, and Hand over saves them as pictures.';
}

export function App() {
  return (
    <Section name="The page" place="section-afloat">
      <Page />
    </Section>
  );
}

function Page() {
  const handle = useRef<SlabViewHandle>(null);
  const beginning = useSessionStore((state) => state.beginning);
  const sheet = useSessionStore((state) => state.sheet);
  const padding = usePadding(beginning);
  useEscape();
  useUndoKeys();
  return (
    <DropZone
      className="page"
      style={{ '--sheet': sheet } as CSSProperties}
      getDropOperation={(types) => (types.has(PIN_TYPE) ? 'cancel' : 'copy')}
      onDrop={(event) => {
        droppedFiles(event.items).then(takeFiles, (error: Error) => setProof({ notice: error.message }));
      }}
    >
      <main className="stage" aria-label="The slab">
        <Section name="The slab" explain={withoutGraphics}>
          <Stage handle={handle} padding={padding} />
        </Section>
      </main>
      {beginning ? (
        <Section name="The new piece" place="column">
          <Beginning />
        </Section>
      ) : (
        <>
          <Section name="The column of steps" place="column">
            <Column />
          </Section>
          <SideNames padding={padding} />
          <VerdictLine left={padding.left} />
          <CompareTools />
          <ViewTools handle={handle} />
          <Legend />
          <Readout />
          <PlaceLine />
          <Section name="The bar of proofs" place="proof-bar">
            <ProofBar />
          </Section>
        </>
      )}
      <Notice />
      <OtherPhotograph />
      <Section name="The calibration" place="section-afloat">
        <CalibrateSheet />
      </Section>
      <div className="drop-veil" aria-hidden="true">
        Drop the photograph, or a piece
      </div>
    </DropZone>
  );
}

function usePadding(beginning: boolean): Padding {
  const bar = useProofStore(({ pins }) => (pins.length > 0 ? BAR_PX : BARE_PX));
  const sheet = useSessionStore((state) => state.sheet);
  const [[width, height], setSize] = useState([window.innerWidth, window.innerHeight]);
  useEffect(() => {
    const onResize = () => setSize([window.innerWidth, window.innerHeight]);
    window.addEventListener('resize', onResize);
    return () => window.removeEventListener('resize', onResize);
  }, []);
  return useMemo(() => paddingFor({ width, height, beginning, bar, sheet }), [width, height, beginning, bar, sheet]);
}

function useUndoKeys(): void {
  useEffect(() => {
    const onKey = (event: globalThis.KeyboardEvent) => {
      const typing = event.target instanceof HTMLInputElement && event.target.type === 'text';
      if (typing || !(event.ctrlKey || event.metaKey)) return;
      const key = event.key.toLowerCase();
      if (key !== 'z' && key !== 'y') return;
      event.preventDefault();
      if (key === 'y' || event.shiftKey) redo();
      else undo();
    };
    window.addEventListener('keydown', onKey);
    return () => window.removeEventListener('keydown', onKey);
  }, []);
}

const WAYS = [
  { id: 'wipe', label: 'Wipe' },
  { id: 'side-by-side', label: 'Side by side' },
] as const;

/** How two picked proofs are shown on the slab. */
function CompareTools() {
  const { right } = useShown();
  const compare = useSessionStore((state) => state.compare);
  if (!right) return null;
  return (
    <div className="compare-tools">
      <PairSwitch label="Two proofs" value={compare} options={WAYS} onChange={(way) => setSession({ compare: way })} />
    </div>
  );
}

/** What is on either side, of the wipe or of two slabs: its name and what came out. */
function SideNames({ padding }: { padding: Padding }) {
  const picked = useProofStore((state) => state.picked);
  const pins = useProofStore((state) => state.pins);
  const compare = useSessionStore((state) => state.compare);
  const { left, right } = useShown();
  if (picked.length < 2 || !left || !right) return null;
  const nameOf = (id: string) => (id === NOW ? 'Now' : (pins.find((pin) => pin.id === id)?.name ?? ''));
  const place = { left: padding.left, right: padding.right, bottom: padding.bottom + 4 };
  return (
    <div className={`side-names side-names-${compare}`} style={place}>
      {[left, right].map((record, i) => (
        <div key={picked[i]}>
          <p>
            <span>{nameOf(picked[i])}</span>
            {record.piece.passes.map((pass) => powers(pass.lightEndPower, pass.darkEndPower)).join(' + ')}
            {isJudged(record) && ` · ${percent(likelyNumbers(record)?.unclearedShare ?? 0)} left dark`}
          </p>
        </div>
      ))}
    </div>
  );
}

/** Escape leaves the comparison, unless something else on the page has a use for it. */
function useEscape(): void {
  useEffect(() => {
    const onKey = (event: globalThis.KeyboardEvent) => {
      if (event.key !== 'Escape' || event.defaultPrevented) return;
      if (document.querySelector('[role="dialog"], [role="menu"], [role="listbox"]')) return;
      if (useProofStore.getState().picked.length > 1) setProof({ picked: [] });
    };
    window.addEventListener('keydown', onKey);
    return () => window.removeEventListener('keydown', onKey);
  }, []);
}

/** Over the slab while the picture is placed by hand: where it lies, and what it lies over. */
function PlaceLine() {
  const on = useSessionStore(({ placing, openStep }) => placing && openStep === 'picture');
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const faces = useSessionStore((state) => state.faces);
  const length = useLengthText();
  if (!on || !photo) return null;
  const flaws = flawWords(piece, photo, faces);
  const beyond = beyondWords(piece, photo, length);
  return (
    <div className="place-line">
      <div role="status">
        <p>{placeWords(piece, photo, length)}</p>
        {flaws && <p className="place-line-mind">{flaws}</p>}
        {beyond && <p className="place-line-mind">{beyond}</p>}
      </div>
      <Button className="quiet" onPress={endPlacing}>
        Done
      </Button>
    </div>
  );
}

/** How long a message stays that asks for nothing: long enough to be read three times over. */
const readingMs = (text: string): number => 6000 + 180 * text.length;

/** One message at a time. It leaves by itself unless there is something to be done about it, or it is being read. */
function Notice() {
  const notice = useProofStore((state) => state.notice);
  const { text, offers } =
    typeof notice === 'string' ? { text: notice, offers: [] } : (notice ?? { text: '', offers: [] });
  const [held, setHeld] = useState(false);
  const stays = text === '' || offers.length > 0 || held;
  useEffect(() => {
    if (stays) return;
    const timer = setTimeout(() => setProof({ notice: null }), readingMs(text));
    return () => clearTimeout(timer);
  }, [stays, text]);
  const putAway = () => {
    setProof({ notice: null });
    setHeld(false);
  };
  return (
    <div className="notice-place" role="status" aria-label="Notice" aria-live="polite">
      {text && (
        // biome-ignore lint/a11y/noStaticElementInteractions: it only stays while it is pointed at
        <div
          className="notice"
          onPointerEnter={() => setHeld(true)}
          onPointerLeave={() => setHeld(false)}
          onFocus={() => setHeld(true)}
          onBlur={() => setHeld(false)}
        >
          <p>{text}</p>
          {offers.map(({ label, onPress }) => (
            <Button
              key={label}
              className="notice-offer"
              onPress={() => {
                putAway();
                onPress();
              }}
            >
              {label}
            </Button>
          ))}
          <Button className="quiet" onPress={putAway}>
            Dismiss
          </Button>
        </div>
      )}
    </div>
  );
}

/** What one reaches for while looking: marks with their legend, raking lamp, camera home, keep the view as a picture. */
function ViewTools({ handle }: { handle: React.RefObject<SlabViewHandle | null> }) {
  const uncleared = useSessionStore((state) => state.uncleared);
  const scorched = useSessionStore((state) => state.scorched);
  const shows = useSessionStore((state) => state.shows);
  const resetToken = useSessionStore((state) => state.resetToken);
  const { left } = useShown();
  const likely = left && isJudged(left) ? likelyNumbers(left) : null;
  const keepView = async () => {
    const blob = await handle.current?.capture();
    if (blob) saveFile('view.png', blob, 'image/png');
    else setProof({ notice: 'The view could not be saved as a picture; try once more.' });
  };
  return (
    <div className="view-tools" role="toolbar" aria-label="View">
      <ToggleButton className="tool" isSelected={uncleared} onChange={(on) => setSession({ uncleared: on })}>
        <i className="swatch swatch-uncleared" aria-hidden="true" />
        Left dark<span className="tool-more">{likely ? percent(likely.unclearedShare) : ''}</span>
      </ToggleButton>
      <ToggleButton className="tool" isSelected={scorched} onChange={(on) => setSession({ scorched: on })}>
        <i className="swatch swatch-scorched" aria-hidden="true" />
        Scorched<span className="tool-more">{likely ? percent(likely.scorchedShare) : ''}</span>
      </ToggleButton>
      <ToggleButton
        className="tool"
        isSelected={shows !== 'proof'}
        isDisabled={!likely}
        onChange={(on) => setSession({ shows: on ? 'uncleared' : 'proof' })}
      >
        Odds
      </ToggleButton>
      <Button className="tool" onPress={() => setSession({ resetToken: resetToken + 1 })}>
        Whole slab
      </Button>
      <Button className="tool tool-more" onPress={() => inBackground(keepView())}>
        Save view
      </Button>
    </div>
  );
}

/** What the marks and the map on the slab mean. */
function Legend() {
  const uncleared = useSessionStore((state) => state.uncleared);
  const scorched = useSessionStore((state) => state.scorched);
  const shows = useSessionStore((state) => state.shows);
  const map = shows !== 'proof';
  if (!uncleared && !scorched && !map) return null;
  return (
    <div className="legend" role="note" aria-label="What the marks mean">
      {map && (
        <div className="legend-map">
          <span>{shows === 'uncleared' ? 'Left dark' : 'Scorches'} in</span>
          <span>no</span>
          <i className={`legend-bar legend-${shows}`} aria-hidden="true" />
          <span>every likely case</span>
        </div>
      )}
      {uncleared && !map && (
        <div>
          <i className="swatch swatch-uncleared" aria-hidden="true" />
          Dark paint stays; the larger the dot, the more of the place
        </div>
      )}
      {scorched && !map && (
        <div>
          <i className="swatch swatch-scorched" aria-hidden="true" />
          The undercoat scorches; the larger the cross, the more of the place
        </div>
      )}
    </div>
  );
}

/** What lies under the pointer. */
function Readout() {
  const probe = useProofStore((state) => state.probe);
  const coats = usePieceStore(({ piece }) => piece.stack.coats);
  const { left, right } = useShown();
  if (!probe) return null;
  const { reading } = probe;
  const record = probe.side === 'right' ? right : left;
  const names = record?.piece.stack.coats ?? coats;
  return (
    <dl className="readout" aria-live="off">
      <div>
        <dt>Place</dt>
        <dd>
          {probe.xMm.toFixed(1)}, {probe.yMm.toFixed(1)} mm
        </dd>
      </div>
      {reading ? (
        <>
          {reading.residueUm.map((residue, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: coats have no identity but their place
            <div key={i}>
              <dt>{names[i]?.name || `Coat ${i + 1}`} left</dt>
              <dd>{residue.toFixed(2)} µm</dd>
            </div>
          ))}
          <div>
            <dt>Into wood</dt>
            <dd>{reading.woodDepthUm.toFixed(1)} µm</dd>
          </div>
          <div>
            <dt>Dose past the top coat</dt>
            <dd>{reading.excessJPerMm2.toFixed(3)} J/mm²</dd>
          </div>
          <div>
            <dt>Colour</dt>
            <dd>
              <i className="swatch" style={{ background: `rgb(${reading.colorSrgb.join(' ')})` }} aria-hidden="true" />
              {reading.colorSrgb.join(' ')}
            </dd>
          </div>
        </>
      ) : (
        <div>
          <dt>Not computed here yet</dt>
          <dd />
        </div>
      )}
    </dl>
  );
}

const ComparisonDialog = lazyPart(() =>
  import('./compare/ComparisonDialog.tsx').then((module) => module.ComparisonDialog),
);

const GridDialog = lazyPart(() => import('./compare/GridDialog.tsx').then((module) => module.GridDialog));

/** Along the bottom: the proof being worked on and the pinned ones; pick two to compare them on the slab. */
function ProofBar() {
  const current = useProofStore((state) => state.current);
  const pins = useProofStore((state) => state.pins);
  const [open, setOpen] = useState<'table' | 'grid' | null>(null);
  const [drag, setDrag] = useState<{ from: number; to: number } | null>(null);
  if (!current) return null;
  return (
    <section className="proof-bar" aria-label="Proofs" data-bare={pins.length === 0 || undefined}>
      <ProofCard id={NOW} title="Now" record={current} thumbnail={null} />
      <div className="bar-actions">
        {current.status === 'computing' ? (
          <Button className="pin-button" onPress={stopProof}>
            Stop
          </Button>
        ) : current.status === 'stopped' || current.status === 'failed' ? (
          <Button className="pin-button" onPress={computeAgain}>
            Compute
          </Button>
        ) : (
          <Button
            className="pin-button"
            isDisabled={current.status !== 'done'}
            onPress={() => inBackground(pinCurrent())}
          >
            Pin
          </Button>
        )}
        <Button className="quiet" onPress={() => setOpen('grid')}>
          Grid…
        </Button>
        {pins.length > 0 && (
          <Button className="quiet" onPress={() => setOpen('table')}>
            Table…
          </Button>
        )}
      </div>
      <div className="pins">
        {pins.map((pin, place) => (
          <PinCard key={pin.id} pin={pin} place={place} count={pins.length} drag={drag} onDrag={setDrag} />
        ))}
      </div>
      {open === 'table' && <ComparisonDialog onClose={() => setOpen(null)} />}
      {open === 'grid' && <GridDialog onClose={() => setOpen(null)} />}
    </section>
  );
}

interface PinCardProps {
  pin: PinnedProof;
  place: number;
  count: number;
  /** Index of the pin that is being dragged along the bar, and where it would land. */
  drag: { readonly from: number; readonly to: number } | null;
  onDrag: (drag: { readonly from: number; readonly to: number } | null) => void;
}

/** A pinned proof: its card, its name to be changed in place, and what can be done with it. */
function PinCard({ pin, place, count, drag, onDrag }: PinCardProps) {
  const [naming, setNaming] = useState(false);
  const repeating = useProofStore((state) => (state.repeating?.id === pin.id ? state.repeating : null));
  const { status, result } = pin.record;
  const byKey = (event: KeyboardEvent) => {
    if (!event.altKey || (event.key !== 'ArrowLeft' && event.key !== 'ArrowRight')) return;
    event.preventDefault();
    movePin(pin.id, event.key === 'ArrowLeft' ? -1 : 1);
  };
  const dragged = {
    draggable: !naming,
    onDragStart: (event: DragEvent) => {
      event.dataTransfer.effectAllowed = 'move';
      event.dataTransfer.setData(PIN_TYPE, pin.id);
      onDrag({ from: place, to: place });
    },
    onDragOver: (event: DragEvent) => {
      if (!drag) return;
      event.preventDefault();
      if (drag.to !== place) onDrag({ ...drag, to: place });
    },
    onDrop: (event: DragEvent) => {
      if (!drag) return;
      event.preventDefault();
      event.stopPropagation();
      movePin(event.dataTransfer.getData(PIN_TYPE), place - drag.from);
      onDrag(null);
    },
    onDragEnd: () => onDrag(null),
  };
  const landing =
    drag && drag.to === place && drag.from !== place ? (drag.from > place ? 'before' : 'after') : undefined;
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: what the keys do is in the menu too
    <div className="pin" data-landing={landing} onKeyDown={byKey} {...dragged}>
      <ProofCard
        id={pin.id}
        title={pin.name}
        record={pin.record}
        thumbnail={pin.thumbnail}
        onPick={() => inBackground(repeatPin(pin.id))}
      />
      {naming && (
        <PinName
          name={pin.name}
          onDone={(name) => {
            if (name !== null) renamePin(pin.id, name);
            setNaming(false);
          }}
        />
      )}
      {result && status === 'waiting' && <span className="pin-note">numbers only; pick it to see it</span>}
      {result && repeating && (
        <span className="pin-note">
          <Progress words="burning" share={repeating.share} />
        </span>
      )}
      <MenuTrigger>
        <Button className="pin-more" aria-label={`What to do with ${pin.name}`}>
          <span aria-hidden="true">⋯</span>
        </Button>
        <Popover className="choice-popover pin-popover" placement="top end">
          <Menu className="choice-list">
            <MenuItem className="choice-item" onAction={() => goBackTo(pin.id)}>
              <span>Go back to these settings</span>
              <small>The piece takes them; undo brings yours back.</small>
            </MenuItem>
            <MenuItem className="choice-item" onAction={() => setNaming(true)}>
              <span>Rename</span>
            </MenuItem>
            {status === 'waiting' && (
              <MenuItem className="choice-item" onAction={() => inBackground(repeatPin(pin.id))}>
                <span>Compute its picture</span>
              </MenuItem>
            )}
            {status === 'computing' && (
              <MenuItem className="choice-item" onAction={() => stopRepeat(pin.id)}>
                <span>Stop computing</span>
              </MenuItem>
            )}
            {place > 0 && (
              <MenuItem className="choice-item" onAction={() => movePin(pin.id, -1)}>
                <span>Move earlier</span>
              </MenuItem>
            )}
            {place < count - 1 && (
              <MenuItem className="choice-item" onAction={() => movePin(pin.id, 1)}>
                <span>Move later</span>
              </MenuItem>
            )}
            <MenuItem className="choice-item" onAction={() => unpin(pin.id)}>
              <span>Take off the bar</span>
            </MenuItem>
          </Menu>
        </Popover>
      </MenuTrigger>
    </div>
  );
}

interface PinNameProps {
  name: string;
  /** Null: it stays as it was. */
  onDone: (name: string | null) => void;
}

/** A pin's name while it is being changed, over the card's title. */
function PinName({ name, onDone }: PinNameProps) {
  const [text, setText] = useState(name);
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => {
    // The menu that was chosen from takes the focus back as it closes.
    const timer = setTimeout(() => field.current?.select(), 60);
    return () => clearTimeout(timer);
  }, []);
  const byKey = (event: KeyboardEvent) => {
    event.stopPropagation();
    if (event.key === 'Enter') onDone(text);
    if (event.key === 'Escape') onDone(null);
  };
  const leave = () => {
    if (document.activeElement !== field.current) onDone(text);
  };
  return (
    <input
      ref={field}
      className="pin-name"
      aria-label="Name of the proof"
      type="text"
      maxLength={60}
      value={text}
      onChange={(event) => setText(event.target.value)}
      onKeyDown={byKey}
      onBlur={leave}
    />
  );
}

/** What is dragged along the bar, for those that take only files. */
const PIN_TYPE = 'application/x-foreburn-pin';
