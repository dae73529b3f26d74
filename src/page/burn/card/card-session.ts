import along from '../../../../shaders/burn/along.wgsl?raw';
import command from '../../../../shaders/burn/command.wgsl?raw';
import law from '../../../../shaders/burn/law.wgsl?raw';
import pace from '../../../../shaders/burn/pace.wgsl?raw';
import { joinBytes } from '../../../base/bytes.ts';
import { inLanes } from '../../../base/in-lanes.ts';
import { CLEARED_RESIDUE_UM, SCORCHED_LEVEL, THROUGH_UM } from '../../../burn/clearing.ts';
import kernel from '../../../burn/kernel/burn.kernel.ts?wgsl';
import { aimOf, type SwathWork } from '../../../burn/runner.ts';
import {
  CRACK_UM,
  countUnsound,
  DECOMPOSITION_RISE_K,
  focusStep,
  HALF_DARK_UM,
  type LaidRows,
  LOWEST_FACTOR,
  PALEST,
} from '../../../burn/swath.ts';
import { HISTOGRAM_BIN_UM, HISTOGRAM_BINS, type SwathResult } from '../../../burn/swath-task.ts';
import type { WarmthMap } from '../../../physics/heat/warmth.ts';
import { COLUMNS } from '../../../physics/material/appearance.ts';
import type { ScreenedPass } from '../../../physics/raster/pass-raster.ts';
import { PLANES, type SurfacePlanes, stackOf } from '../../../render/slab/surface/planes.ts';
import type { CardDevice, Part } from './card-device.ts';
import { type CardPass, type CardPlan, dotSteps, planCard, type Table } from './card-plan.ts';

/** Where counts stand among those of shaders/burn/law.wgsl; the histogram comes first. */
const COUNTS = 128;
const RESIDUE_LOW = 64;
const RESIDUE_HIGH = 65;
const SCORCHED = 66;
const UNCLEARED = 67;
const OPEN = 68;
const DEEPEST = 69;
const UNSOUND = 70;
const RESIDUE_PARTS = 1024;

/** Threads of a group along and across, as the shaders have them. */
const LINE_GROUP = 64;
const LAW_GROUP = [32, 8] as const;

/** WGSL wants a point in a number. */
const decimal = (value: number): string => (/[.e]/.test(String(value)) ? String(value) : `${value}.0`);

/** Level of scorch from which the view shows wood that is burned open, see `render/slab/surface/gpu-surface.ts`. */
const SEEN_THROUGH = 0.99;

/** Cells of a band: a millisecond or less on a large card, some tenths of a second on a small one. */
const BAND_CELLS = 1 << 20;

/** Bands start where the squares that a diagnosis sums up begin. */
const BAND_STEP = 8;

/** Time that a card is kept busy without a break, ms; what the page draws has to wait for it. */
const AT_ONCE_MS = 12;

/** Threads, and turns of arithmetic in each. */
const PACE_SIZE = 1 << 16;
const PACE_TURNS = 150;

/** The shader of a cell: constants of the TypeScript, the law from its kernel, and what is round it. */
function lawShader(whole: Readonly<Record<string, number>>): string {
  const numbers = {
    CLEARED_RESIDUE_UM,
    SCORCHED_LEVEL,
    THROUGH_UM,
    CRACK_UM,
    HALF_DARK_UM,
    LOWEST_FACTOR,
    DECOMPOSITION_RISE_K,
    PALEST,
    SEEN_THROUGH,
  };
  // What keeps the second result is the shader's own.
  const { keepExcess: _, ...functions } = kernel;
  return [
    ...Object.entries({ ...whole, COLOR_COLUMNS: COLUMNS }).map(([name, value]) => `const ${name}: i32 = ${value};`),
    ...Object.entries(numbers).map(([name, value]) => `const ${name}: f32 = ${decimal(value)};`),
    law.replace('// LAW', () => Object.values(functions).join('\n')),
  ].join('\n');
}

/** What a shader is made for: all that is known then is no work for it later. */
function wholesOf({ job }: SwathWork, { passes, steps }: CardPlan) {
  const common = (values: readonly number[]) => (values.every((value) => value === values[0]) ? values[0] : 0);
  return {
    COATS: job.stack.coats.length,
    PASSES: passes.length,
    FOCUS_STEPS: steps,
    SUB_X: job.subX,
    SUB_Y: job.subY,
    STRIDE: job.stride,
    TAPS: common(passes.map(({ taps }) => taps)),
  };
}

/** Whole numbers first, then others, as a shader's struct has them; a multiple of sixteen bytes. */
function numbers(wholes: readonly number[], others: readonly number[]): Uint8Array<ArrayBuffer> {
  const count = 4 * Math.ceil((wholes.length + others.length) / 4);
  const buffer = new ArrayBuffer(4 * count);
  new Int32Array(buffer).set(wholes);
  new Float32Array(buffer).set(others, wholes.length);
  return new Uint8Array(buffer);
}

function numbersOfPass(pass: CardPass, firstRow: number, energyAt: number): Uint8Array<ArrayBuffer> {
  const { warmth } = pass;
  return numbers(
    [
      ...[firstRow, pass.firstDot, energyAt, pass.dots * pass.perDot],
      ...[pass.perDot, pass.weightsRow, pass.taps, pass.phases],
      ...(warmth ? [warmth.columns, warmth.rows] : [0, 0]),
      ...(warmth ? [warmth.nearColumns, warmth.nearK.length / warmth.nearColumns] : [0, 0]),
      ...[warmth?.directions ?? 1, pass.mixed ? 1 : 0],
    ],
    [
      ...[pass.rowPerY, pass.columnPerX, pass.cold],
      ...(warmth ? [warmth.dotsPerBin, warmth.rowsPerBin, warmth.nearDots] : [1, 1, 1]),
    ],
  );
}

/** Cells of the picture and light ones, by row. */
function countAims(aim: Uint8Array, width: number, height: number) {
  const picture = new Uint32Array(height);
  const light = new Uint32Array(height);
  for (let i = 0; i < aim.length; i++) {
    const y = Math.floor(i / width);
    if (aim[i] > 0) picture[y]++;
    if (aim[i] === 2) light[y]++;
  }
  return { picture, light };
}

/** Lays films and wood on rows of the picture. */
export type LayRows = (y0: number, rows: number) => Promise<LaidRows>;

/** Rows laid at a time, and how often the card is let catch up. */
const LAID_ROWS = 64;
const LAID_AHEAD = 16;

/** What there is of a burned picture before its cells are read. */
export interface CardResult {
  readonly stats: SwathResult['stats'];
  /** Whether some cell is seen to be burned through. */
  readonly opensWood: boolean;
}

/**
 * A picture on a graphics card. What it is burned from stays there until something of it changes: dots, films and wood, aims, heat,
 * colours; a change of power, feed or focus sends small tables only. It is burned in bands, so that no watchdog takes one for a hang. State
 * of a place lives in registers from the first pass to the last (shaders/burn/law.wgsl). What failed is not to be used any more.
 */
export class CardSession {
  private readonly device: CardDevice;
  /** What lies on the card, by the name of its texture. */
  private readonly held = new Map<string, readonly unknown[]>();
  private plan: CardPlan | null = null;
  private work: SwathWork | null = null;
  private law = '';
  private unsoundGround = 0;
  private unsoundHeat = 0;
  private unsoundTables = 0;
  private aims = { picture: new Uint32Array(0), light: new Uint32Array(0) };
  private bandsAtOnce = 1;

  constructor(device: CardDevice) {
    this.device = device;
  }

  /** Texels that a side of a texture may have. */
  get mostTexels(): number {
    return this.device.mostTexels;
  }

  /**
   * Brings what is to be burned to the card, as far as it is not there.
   * @throws DeviceLost; Cancelled, between pieces of work.
   */
  async hold(work: SwathWork, layRows: LayRows, signal?: AbortSignal): Promise<void> {
    const { device } = this;
    const { grid, job, screened, tone } = work;
    const { width, height } = grid;
    const plan = planCard(work);
    this.work = work;
    this.plan = plan;
    const cells = JSON.stringify([grid, job.originXMm, job.originYMm]);
    await this.compile(work, plan);
    await this.holdGround(work, layRows, signal);
    screened.forEach((pass, i) => {
      const { columns, rows } = pass.raster;
      this.holdOnce(`dots ${i}`, [pass.levels, pass.mask], (name) => {
        device.texture(name, 'r8uint', { width: columns, height: rows, layers: 2 });
        this.fill(name, pass.levels, { rows, layer: 0 });
        this.fill(name, pass.mask, { rows, layer: 1 });
      });
      const { firstDot, dots: count, half } = plan.passes[i];
      const where = plan.steps > 1 ? [cells, job.slab, pass.raster, firstDot, count, half] : [];
      this.holdOnce(`steps ${i}`, [JSON.stringify(where)], (name) => {
        const flat = { width: 1, height: 1, data: new Uint8Array(1) };
        this.table(name, 'r8uint', plan.steps > 1 ? dotSteps(work, i, plan.passes[i]) : flat);
      });
    });
    for (const name of [...this.held.keys()]) {
      const [kind, index] = name.split(' ');
      if ((kind !== 'dots' && kind !== 'steps') || Number(index) < screened.length) continue;
      this.held.delete(name);
      device.forget(name);
    }
    const spans = screened.map((pass) => pass.spans);
    this.holdOnce('spans', spans, (name) => this.table(name, 'rgba32sint', spansOf(spans)));
    const dots = screened.flatMap(({ levels, mask }) => [levels, mask]);
    this.holdOnce('aim', [cells, tone, work.lightens, ...dots], () => {
      const aim = aimOf(work, 0, height);
      this.aims = countAims(aim, width, height);
      device.texture('marks', 'r8uint', { width, height, layers: 2 });
      this.fill('marks', aim, { rows: height, layer: 0 });
    });
    this.holdOnce('focus', [cells, plan.steps > 1 ? JSON.stringify(job.slab) : ''], () => {
      if (plan.steps > 1) this.fill('marks', cellSteps(work), { rows: height, layer: 1 });
    });
    this.holdHeat(plan);
    const { appearance } = job;
    this.holdOnce('colors', [appearance], (name) => {
      const rows = appearance.rows * (appearance.coats + 1);
      device.texture(name, 'rgba32float', { width: COLUMNS, height: rows, layers: 2 });
      this.fill(name, inFours(appearance.rgb), { rows, layer: 0 });
      this.fill(name, inFours(appearance.knotRgb), { rows, layer: 1 });
    });
    this.sendTables(work, plan);
  }

  /** Resolves when all that is held lies there. @throws DeviceLost. */
  async flush(): Promise<void> {
    await this.device.done();
  }

  /** How long the card takes for an amount of arithmetic that a real one does in a few milliseconds, with the way there and back, ms. */
  async pace(): Promise<number> {
    await this.device.compile('pace', () => pace);
    this.device.buffer('pace', 4 * PACE_SIZE);
    this.device.dispatch('pace', [numbers([PACE_TURNS], []), 'pace'], [PACE_SIZE / LINE_GROUP, 1]);
    const start = performance.now();
    await this.device.done();
    return performance.now() - start;
  }

  private async compile(work: SwathWork, plan: CardPlan): Promise<void> {
    const whole = wholesOf(work, plan);
    this.law = `law ${Object.values(whole)}`;
    await this.device.compile('command', () => command);
    await this.device.compile('along', () => along);
    await this.device.compile(this.law, () => lawShader(whole));
  }

  private fill(name: string, values: ArrayBufferView, part: Part): void {
    this.device.fill(name, values as ArrayBufferView<ArrayBuffer>, part);
  }

  /** A texture of just these values. */
  private table(name: string, format: GPUTextureFormat, { width, height, data }: Table<ArrayBufferView>): void {
    this.device.texture(name, format, { width, height });
    this.fill(name, data, { rows: height });
  }

  private holdOnce(name: string, key: readonly unknown[], send: (name: string) => void): void {
    const held = this.held.get(name);
    if (held?.length === key.length && held.every((part, i) => part === key[i])) return;
    send(name);
    this.held.set(name, key);
  }

  private async holdGround({ job, grid }: SwathWork, layRows: LayRows, signal?: AbortSignal): Promise<void> {
    const { device } = this;
    const { width, height } = grid;
    const coats = job.stack.coats.length;
    const key = `${job.filmKey} ${height}`;
    if (this.held.get('ground')?.[0] === key) return;
    this.held.delete('ground');
    this.unsoundGround = 0;
    device.texture('ground', 'r32float', { width, height, layers: coats + 4 });
    let laid = 0;
    const lay = async (y: number): Promise<void> => {
      const rows = Math.min(LAID_ROWS, height - y);
      const { thicknessUm, reliefUm, density, shade, woodAbsorptance, unsound } = await layRows(y, rows);
      signal?.throwIfAborted();
      this.unsoundGround += unsound;
      if (coats > 0) this.fill('ground', thicknessUm.data, { y, rows, layer: 0, depth: coats });
      [reliefUm, density, shade, woodAbsorptance].forEach((values, i) => {
        this.fill('ground', values, { y, rows, layer: coats + i });
      });
      laid++;
      if (laid % LAID_AHEAD === 0) await device.done();
    };
    // As many at a time as there may be hands for it.
    const hands = Math.max(1, navigator.hardwareConcurrency || 1);
    await inLanes(Math.ceil(height / LAID_ROWS), hands, (i) => lay(i * LAID_ROWS));
    this.held.set('ground', [key]);
  }

  private holdHeat({ passes }: CardPlan): void {
    const maps = passes.map(({ warmth }) => warmth);
    this.holdOnce('heat', maps, () => {
      const largest = (of: (map: WarmthMap) => number) => Math.max(1, ...maps.map((map) => (map ? of(map) : 1)));
      const layers = maps.length;
      this.device.texture('older', 'r32float', {
        width: largest(({ columns }) => columns),
        height: largest(({ rows, directions }) => rows * directions),
        layers,
      });
      this.device.texture('near', 'r32float', {
        width: largest((map) => map.nearColumns),
        height: largest((map) => map.nearK.length / map.nearColumns),
        layers,
      });
      this.unsoundHeat = 0;
      maps.forEach((map, layer) => {
        if (!map) return;
        this.unsoundHeat += countUnsound(map.olderK) + countUnsound(map.nearK);
        this.fill('older', map.olderK, { columns: map.columns, rows: map.olderK.length / map.columns, layer });
        this.fill('near', map.nearK, { columns: map.nearColumns, rows: map.nearK.length / map.nearColumns, layer });
      });
    });
  }

  private sendTables({ job: { appearance } }: SwathWork, plan: CardPlan): void {
    const alongs = plan.passes.map(({ along: table }) => table);
    const { watts, ramps, weights, layers, places, coldFactors } = plan;
    this.table('watts', 'r32float', watts);
    this.table('ramps', 'r32float', ramps);
    this.table('weights', 'r32float', weights);
    this.table('layers', 'r32float', layers);
    this.table('places', 'rg32float', places);
    for (const [i, table] of alongs.entries()) this.table(`along ${i}`, 'rgba32float', table);
    this.device.fillBuffer('scales', Float32Array.of(...appearance.perUm, ...coldFactors));
    const tables = [watts, ramps, weights, layers, places, ...alongs].map(({ data }) => data);
    this.unsoundTables = [...tables, coldFactors].reduce((sum, values) => sum + countUnsound(values), 0);
  }

  /** Rows of a band of the picture that is held. */
  get bandRows(): number {
    const rows = Math.floor(BAND_CELLS / (this.work?.grid.width ?? 1));
    return Math.max(BAND_STEP, BAND_STEP * Math.floor(rows / BAND_STEP));
  }

  /** Burns all of the picture that is held; only counts come back. @throws DeviceLost; Cancelled, between bands. */
  async burn(signal?: AbortSignal): Promise<CardResult> {
    const { grid } = this.holding();
    const { width, height } = grid;
    const stack = stackOf(grid);
    this.device.texture('planes', 'rgba8unorm', stack, GPUTextureUsage.STORAGE_BINDING | GPUTextureUsage.COPY_SRC);
    this.device.buffer('counts', 4 * COUNTS);
    this.device.clear('counts');
    const rows = this.bandRows;
    for (let y0 = 0; y0 < height; ) {
      const bands = this.bandsAtOnce;
      const start = performance.now();
      for (let band = 0; band < bands && y0 < height; band++, y0 += rows) {
        this.burnBand('planes', y0, Math.min(rows, height - y0), y0, stack.down ? [0, height] : [width, 0]);
      }
      // What is left is waited for with the counts.
      if (y0 < height) await this.device.done();
      this.pacedBy(performance.now() - start, bands);
      signal?.throwIfAborted();
    }
    const counts = await this.device.readBuffer('counts', 4 * COUNTS);
    return { stats: this.statsOf(0, height, new Uint32Array(counts.buffer)), opensWood: opens(counts) };
  }

  private pacedBy(tookMs: number, bands: number): void {
    if (tookMs < AT_ONCE_MS) this.bandsAtOnce = Math.min(64, 2 * bands);
    else if (tookMs > 2 * AT_ONCE_MS) this.bandsAtOnce = Math.max(1, bands >> 1);
  }

  /** What was burned last, for whoever draws it; it stays on the card, or is read back where that is software. @throws DeviceLost. */
  async picture(): Promise<SurfacePlanes> {
    if (!this.device.software) return this.device.pictureOf('planes');
    return this.device.readTexture('planes', stackOf(this.holding().grid));
  }

  /** Burns a band of the picture that is held and reads its cells. @throws DeviceLost. */
  async read(y0: number, rows: number): Promise<SwathResult> {
    const { width } = this.holding().grid;
    const size = { width, height: PLANES * rows };
    this.device.texture('band', 'rgba8unorm', size, GPUTextureUsage.STORAGE_BINDING | GPUTextureUsage.COPY_SRC);
    this.device.buffer('counts', 4 * COUNTS);
    this.device.clear('counts');
    this.burnBand('band', y0, rows, 0, [0, rows]);
    const counts = await this.device.readBuffer('counts', 4 * COUNTS);
    const stats = this.statsOf(y0, rows, new Uint32Array(counts.buffer));
    const planes = await this.device.readTexture('band', size);
    return { y0, rows, backend: 'card', stats, fields: null, ...cellsOf(planes, width * rows) };
  }

  private holding(): SwathWork {
    if (!this.work) throw new Error('the card holds nothing to burn');
    return this.work;
  }

  /** Burns cells of the rows `y0 … y0 + rows` into planes of a texture, from its row `toRow` on. */
  private burnBand(
    planes: string,
    y0: number,
    rows: number,
    toRow: number,
    [planeX, planeY]: readonly [number, number],
  ): void {
    const { device, plan } = this;
    const { job, grid, screened } = this.holding();
    if (!plan) return;
    const { width } = grid;
    const reach = plan.passes.map((pass) => pass.rows(y0, rows));
    const lines = reach.map(([first, end]) => end - first);
    const starts: number[] = [];
    let energies = 0;
    plan.passes.forEach((pass, i) => {
      starts.push(energies);
      energies += lines[i] * pass.dots * pass.perDot;
    });
    device.buffer('energy', 4 * energies);
    plan.passes.forEach((pass, i) => {
      const [firstRow] = reach[i];
      const { columns, rows: rasterRows } = screened[i].raster;
      const wide = pass.dots + 2 * pass.half;
      device.buffer('command', 8 * wide * lines[i]);
      const dots = numbers(
        [firstRow, pass.firstDot - pass.half, wide, lines[i], columns, rasterRows, pass.ramps.length, i, pass.back],
        pass.left,
      );
      device.dispatch('command', [dots, `dots ${i}`, 'spans', 'watts', 'ramps', 'command'], groups(wide, lines[i]));
      const beam = numbers(
        [
          ...[firstRow, pass.dots, lines[i], rasterRows, pass.half, plan.steps, pass.perDot, pass.quads],
          ...[i, pass.late ? 1 : 0, starts[i]],
        ],
        [pass.perFeed],
      );
      device.dispatch(
        'along',
        [beam, 'command', 'spans', `steps ${i}`, `along ${i}`, 'energy'],
        groups(pass.dots, lines[i]),
      );
    });
    const under = job.stack.coats[1];
    const { appearance } = job;
    const own = numbers(
      [y0, rows, toRow, width, planeX, planeY, appearance.rows, HISTOGRAM_BINS],
      [
        HISTOGRAM_BIN_UM,
        job.stack.coats.reduce((total, { dryThicknessUm }) => total + dryThicknessUm, 0),
        ...(under ? [under.absorptance, under.scorchOnsetJPerMm2] : [0, 0]),
        ...[appearance.perExcess, appearance.harmlessExcess, 0, 0],
      ],
    );
    const all = joinBytes([own, ...plan.passes.map((pass, i) => numbersOfPass(pass, reach[i][0], starts[i]))]);
    const held = [
      'ground',
      'marks',
      'energy',
      'weights',
      'layers',
      'places',
      'older',
      'near',
      'spans',
      'colors',
      'scales',
    ];
    device.dispatch(
      this.law,
      [all, ...held, planes, 'counts'],
      [Math.ceil(width / LAW_GROUP[0]), Math.ceil(rows / LAW_GROUP[1])],
    );
  }

  /** @throws Error where counts do not add up: a card that is gone may give zeros without a word. */
  private statsOf(y0: number, rows: number, counts: Uint32Array): SwathResult['stats'] {
    const maxDepthUm = new Float32Array(counts.buffer, 4 * DEEPEST, 1)[0];
    const within = (cells: Uint32Array) => cells.subarray(y0, y0 + rows).reduce((total, value) => total + value, 0);
    const lightCells = within(this.aims.light);
    const histogram = counts.slice(0, HISTOGRAM_BINS);
    if (histogram.reduce((sum, value) => sum + value, 0) !== lightCells) {
      throw new Error('the graphics card has lost count');
    }
    return {
      unsound: counts[UNSOUND] + this.unsoundGround + this.unsoundHeat + this.unsoundTables,
      pictureCells: within(this.aims.picture),
      lightCells,
      unclearedCells: counts[UNCLEARED],
      scorchedCells: counts[SCORCHED],
      residueSumUm: (counts[RESIDUE_HIGH] * 2 ** 32 + counts[RESIDUE_LOW]) / RESIDUE_PARTS,
      maxDepthUm,
      histogram,
    };
  }
}

const groups = (across: number, lines: number): [number, number] => [Math.ceil(across / LINE_GROUP), lines];

const opens = (counts: Uint8Array<ArrayBuffer>): boolean => new Uint32Array(counts.buffer)[OPEN] > 0;

/** Cells from planes over one another, as swaths have them. */
function cellsOf(planes: Uint8Array, cells: number): Pick<SwathResult, 'color' | 'relief' | 'through'> {
  const color = planes.slice(0, 4 * cells);
  const relief = new Uint16Array(2 * cells);
  const through = new Uint8Array(cells);
  for (let i = 0; i < cells; i++) {
    const height = 4 * (cells + i);
    const scorch = 4 * (2 * cells + i);
    color[4 * i + 3] = planes[height + 2];
    relief[2 * i] = planes[height] | (planes[height + 1] << 8);
    relief[2 * i + 1] = planes[scorch] | (planes[scorch + 1] << 8);
    through[i] = planes[scorch + 2];
  }
  return { color, relief, through };
}

/** Threes of numbers as fours. */
function inFours(threes: Float32Array): Float32Array {
  const fours = new Float32Array((threes.length / 3) * 4);
  for (let i = 0; i < threes.length; i++) fours[4 * Math.floor(i / 3) + (i % 3)] = threes[i];
  return fours;
}

/** First dot, one past the last and direction by pass and raster row. */
function spansOf(spans: readonly ScreenedPass['spans'][]): Table<Int32Array> {
  const height = Math.max(...spans.map(({ first }) => first.length));
  const data = new Int32Array(4 * spans.length * height);
  spans.forEach(({ first, end, backwards }, i) => {
    for (let row = 0; row < first.length; row++) {
      data.set([first[row], end[row], backwards[row]], 4 * (row * spans.length + i));
    }
  });
  return { width: spans.length, height, data };
}

/** Steps of focus by cell. */
function cellSteps({ job, grid: { width, height } }: SwathWork): Uint8Array {
  const steps = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) steps[y * width + x] = focusStep(job, job.passes[0], x + 0.5, y + 0.5);
  }
  return steps;
}
