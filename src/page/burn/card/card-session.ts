import along from '../../../../shaders/burn/along.frag?raw';
import command from '../../../../shaders/burn/command.frag?raw';
import count from '../../../../shaders/burn/count.frag?raw';
import law from '../../../../shaders/burn/law.frag?raw';
import pace from '../../../../shaders/burn/pace.frag?raw';
import show from '../../../../shaders/burn/show.frag?raw';
import sum from '../../../../shaders/burn/sum.frag?raw';
import { inLanes } from '../../../base/in-lanes.ts';
import { CLEARED_RESIDUE_UM, SCORCHED_LEVEL, THROUGH_UM } from '../../../burn/clearing.ts';
import kernel from '../../../burn/kernel/burn.kernel.ts?glsl';
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
import type { CardDevice, CardOrder, Uniform } from './card-device.ts';
import { type CardPass, type CardPlan, dotSteps, planCard, type Table } from './card-plan.ts';
import type { CardSurface } from './card-surface.ts';

/** Cells a side that are counted together, and the lines of such tiles that are summed up apart. */
const TILE = 32;
const SUM_LINES = 16;
/** Values of a line of sums, and where among them: histogram first, sums and deepest place. */
const SUM_VALUES = 80;
const SUMS_AT = 64;
const DEEPEST_AT = 68;

const VERSION = '#version 300 es';

/** GLSL wants a point in a number. */
const decimal = (value: number): string => (/[.e]/.test(String(value)) ? String(value) : `${value}.0`);

/** A deepest place that stands for one that is no number. */
const UNSOUND_UM = 1e30;

/** Level of scorch from which the view shows wood that is burned open, see `render/slab/surface/gpu-surface.ts`. */
const SEEN_THROUGH = 0.99;

/** Cells of a band: some milliseconds on a large card, some tenths of a second on a small one. */
const BAND_CELLS = 1 << 20;

/** Bands start where the squares that a diagnosis sums up begin. */
const BAND_STEP = 8;

/** Time that a card is kept busy without a break, ms; what the page draws has to wait for it. */
const AT_ONCE_MS = 12;

/** Texels a side, and turns of arithmetic in each. */
const PACE_SIZE = 256;
const PACE_TURNS = 150;

const GL = WebGL2RenderingContext;

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
    UNSOUND_UM,
    SEEN_THROUGH,
  };
  const precisions = ['float', 'int', 'sampler2D', 'isampler2D', 'sampler2DArray', 'usampler2DArray'];
  // What keeps the second result is the shader's own.
  const { keepExcess: _, ...functions } = kernel;
  return [
    VERSION,
    ...precisions.map((type) => `precision highp ${type};`),
    ...Object.entries({ ...whole, COLOR_COLUMNS: COLUMNS }).map(([name, value]) => `#define ${name} ${value}`),
    ...Object.entries(numbers).map(([name, value]) => `#define ${name} ${decimal(value)}`),
    law.replace('// LAW', () => Object.values(functions).join('\n')),
  ].join('\n');
}

/** What a shader is made for: all that is known then is no work for it later. */
function wholesOf({ job }: SwathWork, { passes, steps, quads }: CardPlan) {
  const common = (values: readonly number[]) => (values.every((value) => value === values[0]) ? values[0] : 0);
  return {
    COATS: job.stack.coats.length,
    PASSES: passes.length,
    FOCUS_STEPS: steps,
    QUADS: quads,
    SUB_X: job.subX,
    SUB_Y: job.subY,
    STRIDE: job.stride,
    PARTS: common(passes.map(({ perDot }) => perDot)),
    TAPS: common(passes.map(({ taps }) => taps)),
  };
}

function passUniforms(pass: CardPass, index: number, firstRow: number): Record<string, Uniform> {
  const { warmth } = pass;
  const values: Record<string, Uniform> = {
    firstRow,
    firstDot: pass.firstDot,
    parts: pass.perDot,
    weightsRow: pass.weightsRow,
    taps: pass.taps,
    phases: pass.phases,
    rowPerY: { floats: [pass.rowPerY] },
    columnPerX: { floats: [pass.columnPerX] },
    cold: { floats: [pass.cold] },
    older: warmth ? [warmth.columns, warmth.rows] : [0, 0],
    near: warmth ? [warmth.nearColumns, warmth.nearK.length / warmth.nearColumns] : [0, 0],
    bins: { floats: warmth ? [warmth.dotsPerBin, warmth.rowsPerBin, warmth.nearDots] : [1, 1, 1] },
    directions: warmth?.directions ?? 1,
    mixed: pass.mixed ? 1 : 0,
  };
  return Object.fromEntries(Object.entries(values).map(([name, value]) => [`uPasses[${index}].${name}`, value]));
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

/** Rows laid at a time. */
const LAID_ROWS = 64;

/** What there is of a burned picture before its cells are read. */
export interface CardResult {
  readonly stats: SwathResult['stats'];
  /** Whether some cell is seen to be burned through. */
  readonly opensWood: boolean;
}

/**
 * A picture on a graphics card. What it is burned from stays there until something of it changes: dots, films and wood, aims, heat,
 * colours; a change of power, feed or focus sends small tables only. It is burned in bands, so that no watchdog takes one for a hang. State
 * of a place lives in registers from the first pass to the last (shaders/burn/law.frag).
 */
export class CardSession {
  private readonly device: CardDevice;
  /** What lies on the card, by the name of its texture. */
  private readonly held = new Map<string, readonly unknown[]>();
  private readonly formats = new Map<string, number>();
  private orders: CardOrder[] = [];
  private programs = new Set<string>();
  private plan: CardPlan | null = null;
  private work: SwathWork | null = null;
  private unsoundGround = 0;
  private unsoundHeat = 0;
  private unsoundTables = 0;
  private aims = { picture: new Uint32Array(0), light: new Uint32Array(0) };
  private bandsAtOnce = 1;
  private lastSurface: readonly string[] = [];

  constructor(device: CardDevice) {
    this.device = device;
  }

  /**
   * Brings what is to be burned to the card, as far as it is not there; all but films goes with the next orders.
   * @throws DeviceLost; Cancelled, between pieces of work.
   */
  async hold(work: SwathWork, layRows: LayRows, signal?: AbortSignal): Promise<void> {
    const { grid, job, screened, tone } = work;
    const { width, height } = grid;
    const plan = planCard(work);
    this.work = work;
    this.plan = plan;
    const cells = JSON.stringify([grid, job.originXMm, job.originYMm]);
    await this.holdGround(work, layRows, signal);
    screened.forEach((pass, i) => {
      const { columns, rows } = pass.raster;
      this.holdOnce(`dots ${i}`, [pass.levels, pass.mask], (name) => {
        this.texture(name, GL.R8UI, columns, rows, 2);
        this.fill(name, pass.levels, { rows, layer: 0 });
        this.fill(name, pass.mask, { rows, layer: 1 });
      });
      const { firstDot, dots: count, half } = plan.passes[i];
      const where = plan.steps > 1 ? [cells, job.slab, pass.raster, firstDot, count, half] : [];
      this.holdOnce(`steps ${i}`, [JSON.stringify(where)], (name) => {
        const flat = { width: 1, height: 1, data: new Uint8Array(1) };
        this.table(name, GL.R8UI, plan.steps > 1 ? dotSteps(work, i, plan.passes[i]) : flat);
      });
    });
    for (const name of this.held.keys()) {
      const [kind, index] = name.split(' ');
      if ((kind !== 'dots' && kind !== 'steps') || Number(index) < screened.length) continue;
      this.held.delete(name);
      this.orders.push({ kind: 'forget', name });
    }
    const spans = screened.map((pass) => pass.spans);
    this.holdOnce('spans', spans, (name) => this.table(name, GL.RGBA32I, spansOf(spans)));
    const dots = screened.flatMap(({ levels, mask }) => [levels, mask]);
    this.holdOnce('aim', [cells, tone, work.lightens, ...dots], () => {
      const aim = aimOf(work, 0, height);
      this.aims = countAims(aim, width, height);
      this.texture('marks', GL.R8UI, width, height, 2);
      this.fill('marks', aim, { rows: height, layer: 0, given: true });
    });
    this.holdOnce('focus', [cells, plan.steps > 1 ? JSON.stringify(job.slab) : ''], () => {
      if (plan.steps > 1) this.fill('marks', cellSteps(work), { rows: height, layer: 1, given: true });
    });
    this.holdHeat(plan);
    const { appearance } = job;
    this.holdOnce('colors', [appearance], (name) => {
      const rows = appearance.rows * (appearance.coats + 1);
      this.texture(name, GL.RGB32F, COLUMNS, rows, 2);
      this.fill(name, appearance.rgb, { rows, layer: 0 });
      this.fill(name, appearance.knotRgb, { rows, layer: 1 });
    });
    this.sendTables(plan);
  }

  /** Sends what is held and has not gone with a burn yet. @throws DeviceLost. */
  async flush(): Promise<void> {
    await this.send();
  }

  /** How long the card takes for an amount of arithmetic that a real one does in a few milliseconds, with the way there and back, ms. */
  async pace(): Promise<number> {
    this.scratch('pace', GL.RGBA8, PACE_SIZE, PACE_SIZE);
    this.draw('pace', pace, [{ name: 'pace' }], [PACE_SIZE, PACE_SIZE], { uTurns: PACE_TURNS });
    const start = performance.now();
    await this.send();
    return performance.now() - start;
  }

  /** Everything on the card goes up again with the next picture. */
  private forgetAll(): void {
    this.held.clear();
    this.programs.clear();
  }

  private async send(): Promise<Uint8Array[]> {
    const { orders } = this;
    this.orders = [];
    try {
      return await this.device.run(orders);
    } catch (error) {
      this.forgetAll();
      throw error;
    }
  }

  private texture(name: string, format: number, width: number, height: number, layers = 0): void {
    this.orders.push({ kind: 'texture', name, format, width, height, layers });
    this.formats.set(name, format);
  }

  /** A texture that is drawn into and read from again at once. */
  private scratch(name: string, format: number, width: number, height: number, layers = 0): void {
    this.orders.push({ kind: 'texture', name, format, width, height, layers, atLeast: true });
  }

  private fill(
    name: string,
    values: ArrayBufferView,
    part: Pick<CardOrder & { kind: 'fill' }, 'rows' | 'columns' | 'y' | 'layer' | 'depth' | 'given'>,
  ): void {
    const [layout, type] = LAYOUTS.get(this.formats.get(name) ?? 0) ?? [0, 0];
    this.orders.push({ kind: 'fill', name, layout, type, values, ...part });
  }

  /** A texture of just these values. */
  private table(name: string, format: number, { width, height, data }: Table<ArrayBufferView>): void {
    this.texture(name, format, width, height);
    this.fill(name, data, { rows: height });
  }

  private draw(
    program: string,
    fragment: string | (() => string),
    targets: (CardOrder & { kind: 'draw' })['targets'],
    [width, height, y]: readonly [number, number, number?],
    uniforms: Readonly<Record<string, Uniform>>,
  ): void {
    if (!this.programs.has(program)) {
      const text = typeof fragment === 'string' ? fragment : fragment();
      this.orders.push({ kind: 'program', name: program, fragment: text });
      this.programs.add(program);
    }
    this.orders.push({ kind: 'draw', program, targets, width, height, y, uniforms });
  }

  private holdOnce(name: string, key: readonly unknown[], send: (name: string) => void): void {
    const held = this.held.get(name);
    if (held?.length === key.length && held.every((part, i) => part === key[i])) return;
    send(name);
    this.held.set(name, key);
  }

  private async holdGround({ job, grid }: SwathWork, layRows: LayRows, signal?: AbortSignal): Promise<void> {
    const { width, height } = grid;
    const coats = job.stack.coats.length;
    const key = `${job.filmKey} ${height}`;
    if (this.held.get('ground')?.[0] === key) return;
    this.held.delete('ground');
    this.unsoundGround = 0;
    this.texture('ground', GL.R32F, width, height, coats + 4);
    let sending: Promise<unknown> = Promise.resolve();
    const lay = async (y: number): Promise<void> => {
      const rows = Math.min(LAID_ROWS, height - y);
      const { thicknessUm, reliefUm, density, shade, woodAbsorptance, unsound } = await layRows(y, rows);
      signal?.throwIfAborted();
      this.unsoundGround += unsound;
      if (coats > 0) this.fill('ground', thicknessUm.data, { y, rows, layer: 0, depth: coats, given: true });
      [reliefUm, density, shade, woodAbsorptance].forEach((values, i) => {
        this.fill('ground', values, { y, rows, layer: coats + i, given: true });
      });
      sending = sending.then(() => this.send());
      await sending;
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
      const older = [largest(({ columns }) => columns), largest(({ rows, directions }) => rows * directions)] as const;
      const nearColumns = largest((map) => map.nearColumns);
      this.texture('older', GL.R32F, ...older, maps.length);
      this.texture(
        'near',
        GL.R32F,
        nearColumns,
        largest((map) => map.nearK.length / map.nearColumns),
        maps.length,
      );
      this.unsoundHeat = 0;
      maps.forEach((map, layer) => {
        if (!map) return;
        this.unsoundHeat += countUnsound(map.olderK) + countUnsound(map.nearK);
        this.fill('older', map.olderK, { columns: map.columns, rows: map.olderK.length / map.columns, layer });
        this.fill('near', map.nearK, { columns: map.nearColumns, rows: map.nearK.length / map.nearColumns, layer });
      });
    });
  }

  private sendTables(plan: CardPlan): void {
    const alongs = plan.passes.map(({ along: table }) => table);
    const { watts, ramps, weights, layers, places } = plan;
    this.table('watts', GL.R32F, watts);
    this.table('ramps', GL.R32F, ramps);
    this.table('weights', GL.R32F, weights);
    this.table('layers', GL.R32F, layers);
    this.table('places', GL.RG32F, places);
    for (const [i, table] of alongs.entries()) this.table(`along ${i}`, GL.RGBA32F, table);
    const tables = [watts, ramps, weights, layers, places, ...alongs].map(({ data }) => data);
    this.unsoundTables = [...tables, plan.coldFactors].reduce((sum, values) => sum + countUnsound(values), 0);
  }

  /** Rows of a band of the picture that is held. */
  get bandRows(): number {
    const rows = Math.floor(BAND_CELLS / (this.work?.grid.width ?? 1));
    return Math.max(BAND_STEP, BAND_STEP * Math.floor(rows / BAND_STEP));
  }

  /** Burns all of the picture that is held; only counts come back. @throws DeviceLost; Cancelled, between bands. */
  async burn(surface: CardSurface | null, signal?: AbortSignal): Promise<CardResult> {
    const { width, height } = this.held.size > 0 && this.work ? this.work.grid : { width: 0, height: 0 };
    if (surface) {
      // A surface that nobody has taken by now is not wanted any more.
      for (const name of this.lastSurface) this.orders.push({ kind: 'forget', name });
      this.lastSurface = [surface.color, surface.relief];
      const size = { kind: 'texture', width, height } as const;
      this.orders.push({ ...size, name: surface.color, format: GL.SRGB8_ALPHA8, mips: true });
      this.orders.push({ ...size, name: surface.relief, format: GL.RG16F });
    }
    const totals = new Float64Array(SUM_VALUES);
    const rows = this.bandRows;
    for (let y0 = 0; y0 < height; ) {
      const bands = this.bandsAtOnce;
      const start = performance.now();
      for (let band = 0; band < bands && y0 < height; band++, y0 += rows) {
        const count = Math.min(rows, height - y0);
        this.burnBand(y0, count);
        if (surface) this.show(surface, y0, count);
        this.readSums();
      }
      for (const sums of await this.send()) addSums(totals, sums);
      const tookMs = performance.now() - start;
      if (tookMs < AT_ONCE_MS) this.bandsAtOnce = Math.min(64, 2 * bands);
      else if (tookMs > 2 * AT_ONCE_MS) this.bandsAtOnce = Math.max(1, bands >> 1);
      signal?.throwIfAborted();
    }
    return { stats: this.statsOf(0, height, totals), opensWood: totals[SUMS_AT + 3] > 0 };
  }

  /** Burns a band of the picture that is held and reads its cells. @throws DeviceLost. */
  async read(y0: number, rows: number): Promise<SwathResult> {
    const width = this.work?.grid.width ?? 0;
    this.burnBand(y0, rows);
    this.readSums();
    const size = { kind: 'read', width, height: rows, type: GL.UNSIGNED_BYTE } as const;
    this.orders.push({ ...size, name: 'color', layout: GL.RGBA, bytes: 4 * width * rows });
    this.orders.push({ ...size, name: 'relief', layout: GL.RGBA, bytes: 4 * width * rows });
    this.orders.push({ ...size, name: 'through', layout: GL.RED, bytes: width * rows });
    const [sums, color, relief, through] = await this.send();
    const totals = new Float64Array(SUM_VALUES);
    addSums(totals, sums);
    const heights = new Uint16Array(relief.buffer as ArrayBuffer);
    return {
      y0,
      rows,
      backend: 'card',
      stats: this.statsOf(y0, rows, totals),
      color,
      relief: heights,
      through,
      fields: null,
    };
  }

  /** Burns cells of the rows `y0 … y0 + rows`; what comes out lies in the textures `color`, `relief`, `facts` and `through`. */
  private burnBand(y0: number, rows: number): void {
    const { work, plan } = this;
    if (!work || !plan) throw new Error('the card holds nothing to burn');
    const { job, grid, screened } = work;
    const { width } = grid;
    const reach = plan.passes.map((pass) => pass.rows(y0, rows));
    const energyRows = Math.max(...reach.map(([first, end]) => end - first));
    const energyWidth = Math.max(...plan.passes.map(({ dots }) => dots));
    this.scratch('energy', GL.RGBA32F, energyWidth, energyRows, plan.quads * plan.passes.length);
    this.scratch('command', GL.RG32F, Math.max(...plan.passes.map(({ dots, half }) => dots + 2 * half)), energyRows);
    plan.passes.forEach((pass, i) => {
      const [first, end] = reach[i];
      const { columns, rows: rasterRows } = screened[i].raster;
      this.draw('command', command, [{ name: 'command' }], [pass.dots + 2 * pass.half, end - first], {
        uDots: `dots ${i}`,
        uSpans: 'spans',
        uWatts: 'watts',
        uRamps: 'ramps',
        uPass: i,
        uFirst: [pass.firstDot - pass.half, first],
        uRaster: [columns, rasterRows],
        uRampDots: pass.ramps.length,
        uBack: pass.back,
        uLeft: { floats: pass.left },
      });
      for (let quad = 0; quad < pass.quads; quad++) {
        const layer = i * plan.quads + quad;
        this.draw('along', along, [{ name: 'energy', layer }], [pass.dots, end - first], {
          uCommand: 'command',
          uSpans: 'spans',
          uSteps: `steps ${i}`,
          uAlong: `along ${i}`,
          uPass: i,
          uFirstRow: first,
          uRasterRows: rasterRows,
          uHalf: pass.half,
          uStepCount: plan.steps,
          uQuads: pass.quads,
          uQuad: quad,
          uLate: pass.late ? 1 : 0,
          uPerFeed: { floats: [pass.perFeed] },
        });
      }
    });

    this.scratch('color', GL.RGBA8, width, rows);
    this.scratch('relief', GL.RGBA8, width, rows);
    this.scratch('facts', GL.RGBA32F, width, rows);
    this.scratch('through', GL.R8, width, rows);
    const under = job.stack.coats[1];
    const targets = ['color', 'relief', 'facts', 'through'].map((name) => ({ name }));
    const whole = wholesOf(work, plan);
    this.draw(`law ${Object.values(whole)}`, () => lawShader(whole), targets, [width, rows], {
      uGround: 'ground',
      uMarks: 'marks',
      uEnergy: 'energy',
      uWeights: 'weights',
      uLayers: 'layers',
      uPlaces: 'places',
      uOlder: 'older',
      uNear: 'near',
      uSpans: 'spans',
      uColors: 'colors',
      uFirstCell: y0,
      uNominalUm: { floats: [job.stack.coats.reduce((total, { dryThicknessUm }) => total + dryThicknessUm, 0)] },
      uScorch: { floats: under ? [under.absorptance, under.scorchOnsetJPerMm2] : [0, 0] },
      'uPerUm[0]': { list: job.appearance.perUm },
      uExcess: { floats: [job.appearance.perExcess, job.appearance.harmlessExcess] },
      uColorRows: job.appearance.rows,
      'uColdFactors[0]': { list: plan.coldFactors },
      ...Object.assign({}, ...plan.passes.map((pass, i) => passUniforms(pass, i, reach[i][0]))),
    });

    const across = Math.ceil(width / TILE);
    const down = Math.ceil(rows / TILE);
    this.scratch('counts', GL.RGBA32F, 5 * across, down, 4);
    const layers = [0, 1, 2, 3].map((layer) => ({ name: 'counts', layer }));
    this.draw('count', count, layers, [5 * across, down], {
      uFacts: 'facts',
      uMarks: 'marks',
      uFirstCell: y0,
      uCells: [width, rows],
      uTile: TILE,
      uBins: HISTOGRAM_BINS,
      uBinUm: { floats: [HISTOGRAM_BIN_UM] },
    });
    this.scratch('sums', GL.RGBA32F, SUM_VALUES / 4, SUM_LINES);
    this.draw('sum', sum, [{ name: 'sums' }], [SUM_VALUES / 4, SUM_LINES], {
      uCounts: 'counts',
      uTiles: [across, down],
      uLines: SUM_LINES,
    });
  }

  private show({ color, relief }: CardSurface, y0: number, rows: number): void {
    const width = this.work?.grid.width ?? 0;
    this.draw('show', show, [{ name: color }, { name: relief }], [width, rows, y0], {
      uColor: 'color',
      uRelief: 'relief',
      uFirstCell: y0,
    });
  }

  private readSums(): void {
    const size = { width: SUM_VALUES / 4, height: SUM_LINES, bytes: 4 * SUM_VALUES * SUM_LINES };
    this.orders.push({ kind: 'read', name: 'sums', ...size, layout: GL.RGBA, type: GL.FLOAT });
  }

  private statsOf(y0: number, rows: number, totals: Float64Array): SwathResult['stats'] {
    const [residueSumUm, scorchedCells, unclearedCells] = totals.subarray(SUMS_AT);
    const maxDepthUm = totals[DEEPEST_AT];
    const within = (counts: Uint32Array) => counts.subarray(y0, y0 + rows).reduce((total, value) => total + value, 0);
    return {
      unsound: (maxDepthUm < UNSOUND_UM ? 0 : 1) + this.unsoundGround + this.unsoundHeat + this.unsoundTables,
      pictureCells: within(this.aims.picture),
      lightCells: within(this.aims.light),
      unclearedCells,
      scorchedCells,
      residueSumUm,
      maxDepthUm,
      histogram: Uint32Array.from(totals.subarray(0, HISTOGRAM_BINS)),
    };
  }
}

/** How values of a format come: layout and type. */
const LAYOUTS = new Map<number, readonly [number, number]>([
  [GL.R32F, [GL.RED, GL.FLOAT]],
  [GL.RG32F, [GL.RG, GL.FLOAT]],
  [GL.RGB32F, [GL.RGB, GL.FLOAT]],
  [GL.RGBA32F, [GL.RGBA, GL.FLOAT]],
  [GL.R8UI, [GL.RED_INTEGER, GL.UNSIGNED_BYTE]],
  [GL.RGBA32I, [GL.RGBA_INTEGER, GL.INT]],
]);

function addSums(totals: Float64Array, bytes: Uint8Array): void {
  const sums = new Float32Array(bytes.buffer);
  for (let i = 0; i < sums.length; i++) {
    const k = i % SUM_VALUES;
    totals[k] = k === DEEPEST_AT ? Math.max(totals[k], sums[i]) : totals[k] + sums[i];
  }
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
