import { type KeyboardEvent, type PointerEvent, useEffect, useRef, useState } from 'react';
import {
  Button,
  Group,
  Heading,
  Input,
  Label,
  Menu,
  MenuItem,
  MenuTrigger,
  NumberField,
  Popover,
  Text,
  TextField,
  ToggleButton,
  ToggleButtonGroup,
} from 'react-aria-components';
import { inLanes } from '../../base/in-lanes.ts';
import type { Crop } from '../../burn/proof.ts';
import { averageColors } from '../../image/average-colors.ts';
import { screenOf } from '../../image/screens/screen-tone.ts';
import { burnFrame } from '../../piece/frame.ts';
import { type Piece, SCREEN_METHODS, type ScreenMethod } from '../../piece/schema.ts';
import { ARROWS } from '../../render/gestures.ts';
import type { ProofSurface } from '../../render/slab/surface/gpu-surface.ts';
import { MOST_VALUES, type NumberSettingId, usualValues } from '../../studies/grid/grid-setting.ts';
import { ask } from '../burn/proof-remote.ts';
import { duration, percent, useProofStore } from '../burn/proof-store.ts';
import type { PictureSheet } from '../burn/worker/questions.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { SheetDialog } from '../fields/SheetDialog.tsx';
import { Fault } from '../fields/TaskProgress.tsx';
import { ChoiceControl, PairSwitch } from '../fields/ValueControl.tsx';
import { saveFile } from '../files/save-file.ts';
import { faultOf } from '../remote/task.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { axisLabel, axisNote, readValues, sayValue, shownAxis, typedValues } from './columns.ts';
import {
  type BurnedGrid,
  burning,
  cellsOf,
  choicesBeside,
  type GridAxis,
  type GridCell,
  type GridPlan,
  planFor,
  setGrid,
  useGridStore,
} from './grid-store.ts';
import { Progress } from './ProofCard.tsx';
import { pinPiece, shrink } from './pins.ts';
import '../fields/sheet-head.css';
import './grid.css';

/** Dots along the side of the crop that a grid begins with. */
const FIRST_DOTS = 300;

/** Small proofs of a crop of the picture over any two settings. */
export function GridDialog({ onClose }: { onClose: () => void }) {
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const change = usePieceStore((state) => state.change);
  const surface = useProofStore((state) => state.current?.coarse ?? null);
  const kept = useGridStore((state) => state.plan);
  const grid = useGridStore((state) => state.grid);
  const isBurning = burning.use((state) => state.busy !== null);
  const fault = burning.use((state) => state.fault);
  const said = burning.use((state) => state.said);
  const [first] = useState(() => planFor(piece, kept));
  const plan = kept ?? first;
  const setPlan = (next: GridPlan) => setGrid({ plan: next });
  const photoKey = photo?.key;

  useEffect(() => {
    if (!photo) return;
    const whole = burnFrame(piece, photo);
    if (first.crop) {
      setGrid({ plan: { ...first, crop: heldIn(whole, first.crop) } });
      return;
    }
    const side = FIRST_DOTS * piece.passes[0].rowPitchMm;
    const size = heldIn(whole, { xMm: 0, yMm: 0, widthMm: side, heightMm: side });
    inBackground(
      ask('telling-crop', { piece, photoKey: photo.key, widthMm: size.widthMm, heightMm: size.heightMm }).then(
        (crop) => setGrid((state) => ({ plan: { ...(state.plan ?? first), crop: heldIn(whole, crop) } })),
        (error: unknown) => burning.tell({ fault: faultOf(error) }),
      ),
    );
  }, [piece, photo, first]);

  const done = grid?.cells.filter(({ answer }) => answer !== null).length ?? 0;
  const nameOf = ({ column, row }: GridCell): string => {
    if (!grid) return '';
    const { across, down } = grid.plan;
    return `${sayValue(across.setting, across.values[column])}, ${sayValue(down.setting, down.values[row])}`;
  };
  const take = (cell: GridCell) => {
    const { name, log, quote, order } = piece;
    change(() => ({ ...cell.piece, name, log, quote, order }));
    onClose();
  };
  const pin = (cell: GridCell) => {
    if (!grid || !cell.answer) return;
    const id = pinPiece(cell.piece, grid.photoKey, { name: nameOf(cell), thumbnail: shrink(cell.answer) });
    burning.tell({
      said: id ? `${nameOf(cell)}: pinned to the bar.` : 'The bar is full; take a proof off it first.',
    });
  };
  const save = async () => {
    if (!grid) return;
    try {
      saveFile('grid.png', await ask('picture-sheet', gridSheet(piece.name, grid)), 'image/png');
    } catch (error) {
      burning.tell({ fault: faultOf(error) });
    }
  };
  return (
    <SheetDialog label="Grid of proofs" isOpen onClose={onClose}>
      <div className="sheet-table grid-table">
        <header className="sheet-head sheet-head-line">
          <Heading slot="title">Grid</Heading>
          <p className="plain">A crop of the picture, burned over two settings. Press a picture to use or pin it.</p>
          <span className="spacer" />
          <Button className="quiet" isDisabled={!grid || done < grid.cells.length} onPress={() => inBackground(save())}>
            Save as one picture
          </Button>
          <Button className="wide sheet-close" onPress={onClose}>
            Done
          </Button>
        </header>
        {grid ? (
          <GridCells grid={grid} onTake={take} onPin={pin} />
        ) : (
          <div className="grid-place grid-empty">
            <p>Choose the crop and what changes across and down, then burn the grid.</p>
          </div>
        )}
        <aside className="sheet-panel grid-panel" aria-label="What the grid is made of">
          <GridPanel
            plan={plan}
            piece={piece}
            surface={surface}
            onPlan={setPlan}
            burning={isBurning}
            share={grid ? done / grid.cells.length : 0}
            tookMs={grid?.tookMs ?? null}
            fault={fault}
            said={said}
            isStale={grid !== null && (grid.piece !== piece || JSON.stringify(grid.plan) !== JSON.stringify(plan))}
            onBurn={() =>
              photoKey && plan.crop && inBackground(burnGrid({ ...plan, crop: plan.crop }, piece, photoKey))
            }
            onStop={burning.stop}
          />
        </aside>
      </div>
    </SheetDialog>
  );
}

const MOST_PIXELS = 400;

/** A burned grid as one picture; cells that are not there yet are left out with their whole row or column unfinished. */
function gridSheet(name: string, { plan, cells }: BurnedGrid): PictureSheet {
  const { across, down } = plan;
  const inRows = [...cells].sort((a, b) => a.row - b.row || a.column - b.column);
  return {
    title: name ? `${name}: grid of proofs` : 'Grid of proofs',
    note: `${axisLabel(across.setting)} across, ${axisLabel(down.setting).toLowerCase()} down. Foreburn: predicted, not measured; time is that of the whole picture.`,
    columns: across.values.length,
    mostPixels: MOST_PIXELS,
    pictures: inRows.flatMap(({ answer, column, row }) => {
      if (!answer) return [];
      const { width, height, pitchMm, color, summary } = answer;
      return [
        {
          source: { kind: 'pixels', width, height, pitchMm, color } as const,
          title: sayValue(across.setting, across.values[column]),
          lines: [
            sayValue(down.setting, down.values[row]),
            `${duration(summary.burnTimeS)} · ${summary.lightShare > 0 ? `${percent(summary.unclearedShare)} left dark` : 'no light areas'}`,
          ],
        },
      ];
    }),
  };
}

const FIELDS = [
  ['xMm', 'From the left'],
  ['yMm', 'From the top'],
  ['widthMm', 'Width'],
  ['heightMm', 'Height'],
] as const;

/** The crop by numbers. */
function CropNumbers({ crop, onChange }: { crop: Crop; onChange: (crop: Crop) => void }) {
  return (
    <div className="crop-numbers">
      {FIELDS.map(([key, label]) => (
        <NumberField
          key={key}
          className="crop-number"
          value={crop[key]}
          minValue={0}
          formatOptions={{ maximumFractionDigits: 1, useGrouping: false }}
          onChange={(value) => Number.isFinite(value) && onChange({ ...crop, [key]: value })}
        >
          <Label>{label}</Label>
          <Group className="value-box">
            <Input />
            <span className="unit">mm</span>
          </Group>
        </NumberField>
      ))}
    </div>
  );
}

/** Cells under way at once: while one burns the next is prepared. */
const LANES = 2;

/** Burns a grid cell by cell into the store. */
async function burnGrid(plan: GridPlan & { readonly crop: Crop }, piece: Piece, photoKey: string): Promise<void> {
  const start = performance.now();
  const cells = cellsOf(plan, piece);
  setGrid({ grid: { plan, piece, photoKey, cells, tookMs: null } });
  await burning.run(`computing ${cells.length} crops`, async ({ signal }) => {
    const edit = (change: (grid: BurnedGrid) => BurnedGrid) =>
      setGrid(({ grid }) => (grid && !signal.aborted ? { grid: change(grid) } : {}));
    await inLanes(cells.length, LANES, async (index) => {
      const answer = await ask('crop', { piece: cells[index].piece, photoKey, crop: plan.crop }, { signal });
      edit((grid) => ({ ...grid, cells: grid.cells.map((cell, i) => (i === index ? { ...cell, answer } : cell)) }));
    });
    edit((grid) => ({ ...grid, tookMs: performance.now() - start }));
  });
}

interface CropFrameProps {
  /** The quick look at the whole picture. */
  surface: ProofSurface;
  crop: Crop;
  onChange: (crop: Crop) => void;
}

/** The whole picture small, and on it the frame of the crop: drag it, drag its corner, or move it with the arrow keys. */
function CropFrame({ surface, crop, onChange }: CropFrameProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const place = useRef<HTMLDivElement>(null);
  const grab = useRef<{ x: number; y: number; crop: Crop; sizes: boolean } | null>(null);
  const whole = { widthMm: surface.width * surface.pitchMm, heightMm: surface.height * surface.pitchMm };
  useEffect(() => {
    const context = canvas.current?.getContext('2d');
    if (!context) return;
    const pixels = new Uint8ClampedArray(surface.swaths[0].color);
    for (let i = 3; i < pixels.length; i += 4) pixels[i] = 255;
    context.putImageData(new ImageData(pixels, surface.width, surface.height), 0, 0);
  }, [surface]);

  const down = (sizes: boolean) => (event: PointerEvent<HTMLElement>) => {
    event.stopPropagation();
    event.currentTarget.setPointerCapture(event.pointerId);
    grab.current = { x: event.clientX, y: event.clientY, crop, sizes };
  };
  const move = (event: PointerEvent<HTMLElement>) => {
    const width = place.current?.clientWidth;
    if (!grab.current || !width) return;
    const perPixel = whole.widthMm / width;
    const dx = (event.clientX - grab.current.x) * perPixel;
    const dy = (event.clientY - grab.current.y) * perPixel;
    const { xMm, yMm, widthMm, heightMm } = grab.current.crop;
    onChange(
      heldIn(
        whole,
        grab.current.sizes
          ? { xMm, yMm, widthMm: widthMm + dx, heightMm: heightMm + dy }
          : { xMm: xMm + dx, yMm: yMm + dy, widthMm, heightMm },
      ),
    );
  };
  const up = () => {
    grab.current = null;
  };
  const byKey = (event: KeyboardEvent) => {
    const way = ARROWS[event.key];
    if (!way) return;
    event.preventDefault();
    const step = event.shiftKey ? 10 : 1;
    onChange(heldIn(whole, { ...crop, xMm: crop.xMm + step * way[0], yMm: crop.yMm + step * way[1] }));
  };
  const share = (mm: number, of: number) => `${(100 * mm) / of}%`;
  return (
    <div className="crop-frame" ref={place} style={{ aspectRatio: `${surface.width} / ${surface.height}` }}>
      <canvas ref={canvas} width={surface.width} height={surface.height} />
      <div
        className="crop-box"
        role="application"
        aria-roledescription="frame"
        aria-label={`Crop at ${Math.round(crop.xMm)}, ${Math.round(crop.yMm)} mm. Arrow keys move it, with Shift by 10 mm.`}
        // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
        tabIndex={0}
        style={{
          left: share(crop.xMm, whole.widthMm),
          top: share(crop.yMm, whole.heightMm),
          width: share(crop.widthMm, whole.widthMm),
          height: share(crop.heightMm, whole.heightMm),
        }}
        onPointerDown={down(false)}
        onPointerMove={move}
        onPointerUp={up}
        onPointerCancel={up}
        onKeyDown={byKey}
      >
        <i onPointerDown={down(true)} onPointerMove={move} onPointerUp={up} onPointerCancel={up} />
      </div>
    </div>
  );
}

interface GridPanelProps {
  plan: GridPlan;
  piece: Piece;
  surface: ProofSurface | null;
  onPlan: (plan: GridPlan) => void;
  burning: boolean;
  /** Share of the cells that are there. */
  share: number;
  tookMs: number | null;
  fault: string | null;
  said: string | null;
  /** The grid that is shown was burned with other settings. */
  isStale: boolean;
  onBurn: () => void;
  onStop: () => void;
}

/** What the grid is made of: the crop, what changes across, what changes down. */
function GridPanel(props: GridPanelProps) {
  const { plan, piece, surface, onPlan, burning, share, tookMs, fault, said, isStale } = props;
  const { across, down, pass, crop } = plan;
  const count = across.values.length * down.values.length;
  const hold = (next: Crop) => {
    if (!surface) return;
    const whole = { widthMm: surface.width * surface.pitchMm, heightMm: surface.height * surface.pitchMm };
    onPlan({ ...plan, crop: heldIn(whole, next) });
  };
  return (
    <>
      <div className="grid-controls">
        {surface && crop && (
          <>
            <CropFrame surface={surface} crop={crop} onChange={hold} />
            <CropNumbers crop={crop} onChange={hold} />
          </>
        )}
        {piece.passes.length > 1 && (
          <PairSwitch
            label="Pass"
            value={String(pass)}
            options={piece.passes.map((_, i) => ({ id: String(i), label: String(i + 1) }))}
            onChange={(id) => onPlan({ ...plan, pass: Number(id) })}
          />
        )}
        <AxisControls
          label="Across"
          axis={across}
          other={down}
          piece={piece}
          pass={pass}
          onChange={(axis) => onPlan({ ...plan, across: axis })}
        />
        <AxisControls
          label="Down"
          axis={down}
          other={across}
          piece={piece}
          pass={pass}
          onChange={(axis) => onPlan({ ...plan, down: axis })}
        />
      </div>
      <footer className="grid-foot">
        <div role="status">
          {said && <p className="plain">{said}</p>}
          {burning && <Progress words={`computing ${count} crops`} share={share} />}
          {!burning && !said && tookMs !== null && (
            <p className="plain">
              {`Took ${(tookMs / 1000).toFixed(1)} s.`}
              {isStale ? ' Something was changed since.' : ''}
            </p>
          )}
        </div>
        <Fault words={fault} />
        {burning ? (
          <Button className="wide" onPress={props.onStop}>
            Stop
          </Button>
        ) : (
          <Button className="wide sheet-main" isDisabled={!crop || count === 0} onPress={props.onBurn}>
            Compute the grid: {across.values.length} × {down.values.length}
          </Button>
        )}
      </footer>
    </>
  );
}

/** Smallest and largest side of a crop, mm: with larger ones a grid takes minutes. */
const LEAST_MM = 3;

const MOST_MM = 80;

const between = (value: number, low: number, high: number) => Math.min(Math.max(value, low), Math.max(low, high));

/** The crop within the picture and not too large, to a tenth of a millimetre. */
export function heldIn(whole: { readonly widthMm: number; readonly heightMm: number }, crop: Crop): Crop {
  const widthMm = between(crop.widthMm, LEAST_MM, Math.min(MOST_MM, whole.widthMm));
  const heightMm = between(crop.heightMm, LEAST_MM, Math.min(MOST_MM, whole.heightMm));
  const tenth = (value: number) => Math.round(10 * value) / 10;
  return {
    xMm: tenth(between(crop.xMm, 0, whole.widthMm - widthMm)),
    yMm: tenth(between(crop.yMm, 0, whole.heightMm - heightMm)),
    widthMm: tenth(widthMm),
    heightMm: tenth(heightMm),
  };
}

interface GridCellsProps {
  grid: BurnedGrid;
  onTake: (cell: GridCell) => void;
  onPin: (cell: GridCell) => void;
}

const CAPTION_PX = 26;

const LABEL_PX = 104;

/** Narrowest picture whose caption still has room; what does not fit then is scrolled to. */
const LEAST_PX = 100;

const HEAD_PX = 50;

const GAP_PX = 10;

/** The grid's pictures at one scale, each with its minutes and what stays uncleared. */
function GridCells({ grid, onTake, onPin }: GridCellsProps) {
  const { across, down, crop } = grid.plan;
  const place = useRef<HTMLDivElement>(null);
  const [room, setRoom] = useState({ width: 900, height: 600 });
  useEffect(() => {
    if (!place.current) return;
    const observer = new ResizeObserver(([entry]) => setRoom(entry.contentRect));
    observer.observe(place.current);
    return () => observer.disconnect();
  }, []);
  const ratio = crop.heightMm / crop.widthMm;
  const fitting = Math.min(
    (room.width - LABEL_PX) / across.values.length - GAP_PX,
    ((room.height - HEAD_PX) / down.values.length - GAP_PX - CAPTION_PX) / ratio,
  );
  const width = Math.floor(Math.min(420, Math.max(LEAST_PX, fitting)));
  return (
    <div className="grid-place" ref={place}>
      <table className="grid-cells" aria-label="Grid of proofs">
        <thead>
          <tr>
            <td className="grid-corner">
              <b>{axisLabel(across.setting)} →</b>
              <b>{axisLabel(down.setting)} ↓</b>
            </td>
            {across.values.map((value) => (
              <th key={value} scope="col" className="grid-head">
                {sayValue(across.setting, value)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {down.values.map((value, row) => (
            <tr key={value}>
              <th scope="row" className="grid-side">
                {sayValue(down.setting, value)}
              </th>
              {across.values.map((other, column) => {
                const cell = grid.cells.find((one) => one.column === column && one.row === row);
                return (
                  <td key={other}>
                    {cell && (
                      <Cell
                        cell={cell}
                        title={`${sayValue(across.setting, other)}, ${sayValue(down.setting, value)}`}
                        width={width}
                        height={Math.round(width * ratio)}
                        onTake={() => onTake(cell)}
                        onPin={() => onPin(cell)}
                      />
                    )}
                  </td>
                );
              })}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** A share in as few letters as a small picture has room for. */
const short = (share: number): string => percent(share).replace('under ', '< ');

interface CellProps {
  cell: GridCell;
  title: string;
  width: number;
  height: number;
  onTake: () => void;
  onPin: () => void;
}

function Cell({ cell, title, width, height, onTake, onPin }: CellProps) {
  const { answer, isNow } = cell;
  const canvas = useRef<HTMLCanvasElement>(null);
  const density = Math.min(2, globalThis.devicePixelRatio || 1);
  const pixels = { width: Math.round(width * density), height: Math.round(height * density) };
  useEffect(() => {
    const context = canvas.current?.getContext('2d');
    if (!answer || !context) return;
    const { color } = answer;
    // Dots are averaged in linear light, as the eye does; the browser would do it on encoded values.
    const rows = { ...answer, row: (y: number) => ({ data: color, at: 4 * y * answer.width }) };
    const drawn = averageColors(rows, pixels.width, pixels.height);
    context.putImageData(new ImageData(drawn, pixels.width, pixels.height), 0, 0);
  }, [answer, pixels.width, pixels.height]);
  if (!answer) return <span className="grid-cell" style={{ width, height: height + CAPTION_PX }} aria-hidden="true" />;
  const { burnTimeS, unclearedShare, lightShare } = answer.summary;
  return (
    <MenuTrigger>
      <Button className={`grid-cell${isNow ? ' grid-now' : ''}`} style={{ width }}>
        <span className="unseen">{title}</span>
        <canvas ref={canvas} {...pixels} style={{ width, height }} />
        {isNow && <em className="grid-now-mark">now</em>}
        <span className="grid-caption">
          <span>{Math.max(1, Math.round(burnTimeS / 60))} min</span>
          <span>
            {lightShare > 0 ? short(unclearedShare) : '–'}
            <span className="unseen"> {lightShare > 0 ? 'left dark' : 'no light areas'}</span>
          </span>
        </span>
      </Button>
      <Popover className="choice-popover pin-popover">
        <Menu className="choice-list" aria-label={title}>
          <MenuItem className="choice-item" onAction={onTake}>
            <span>Use these settings</span>
            <small>The piece takes {title}; undo brings yours back.</small>
          </MenuItem>
          <MenuItem className="choice-item" onAction={onPin}>
            <span>Pin</span>
            <small>Puts it on the bar of proofs, to be compared on the slab.</small>
          </MenuItem>
        </Menu>
      </Popover>
    </MenuTrigger>
  );
}

interface AxisControlsProps {
  label: string;
  axis: GridAxis;
  other: GridAxis;
  piece: Piece;
  pass: number;
  onChange: (axis: GridAxis) => void;
}

/** What changes along one side of the grid, and through which values. */
function AxisControls({ label, axis, other, piece, pass, onChange }: AxisControlsProps) {
  return (
    <fieldset className="grid-axis">
      <ChoiceControl
        label={label}
        value={axis.setting}
        choices={choicesBeside(other.setting, piece).map((id) => ({ id, label: axisLabel(id), note: axisNote(id) }))}
        onChange={(setting) => onChange({ setting, values: usualValues(piece, setting, pass) })}
      />
      {axis.setting === 'screen' ? (
        <ScreenValues
          values={axis.values as readonly ScreenMethod[]}
          onChange={(values) => onChange({ ...axis, values })}
        />
      ) : (
        <NumberValues
          key={axis.setting}
          setting={axis.setting}
          values={axis.values as readonly number[]}
          piece={piece}
          onChange={(values) => onChange({ ...axis, values })}
        />
      )}
    </fieldset>
  );
}

interface NumberValuesProps {
  setting: NumberSettingId;
  values: readonly number[];
  piece: Piece;
  onChange: (values: readonly number[]) => void;
}

function NumberValues({ setting, values, piece, onChange }: NumberValuesProps) {
  const typed = typedValues(setting, values);
  const [text, setText] = useState(typed);
  useEffect(() => setText(typed), [typed]);
  const read = readValues(setting, text, piece);
  const take = () => {
    if (read) onChange(read);
    setText(read ? typedValues(setting, read) : typed);
  };
  return (
    <TextField
      className="grid-values"
      value={text}
      isInvalid={read === null}
      onChange={setText}
      onBlur={take}
      onKeyDown={(event) => event.key === 'Enter' && take()}
    >
      <Label>Values, {shownAxis(setting).unit}</Label>
      <Input />
      <Text slot="description" className="hint">
        {read === null ? `One to ${MOST_VALUES} numbers` : `Up to ${MOST_VALUES}`}, with spaces between.
      </Text>
    </TextField>
  );
}

function ScreenValues({
  values,
  onChange,
}: {
  values: readonly ScreenMethod[];
  onChange: (values: readonly ScreenMethod[]) => void;
}) {
  const full = values.length >= MOST_VALUES;
  return (
    <ToggleButtonGroup
      aria-label="Screens"
      className="grid-screens"
      selectionMode="multiple"
      disallowEmptySelection
      selectedKeys={values}
      onSelectionChange={(keys) => onChange(SCREEN_METHODS.filter((method) => keys.has(method)).slice(0, MOST_VALUES))}
    >
      {SCREEN_METHODS.map((method) => (
        <ToggleButton key={method} id={method} className="grid-screen" isDisabled={full && !values.includes(method)}>
          {screenOf(method).look}
        </ToggleButton>
      ))}
    </ToggleButtonGroup>
  );
}
