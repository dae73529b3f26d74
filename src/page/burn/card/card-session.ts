import along from '../../../../shaders/burn/along.frag?raw';
import command from '../../../../shaders/burn/command.frag?raw';
import count from '../../../../shaders/burn/count.frag?raw';
import law from '../../../../shaders/burn/law.frag?raw';
import sum from '../../../../shaders/burn/sum.frag?raw';
import whole from '../../../../shaders/burn/whole.vert?raw';
import { watchContext } from '../../../base/card-watch.ts';
import { CLEARED_RESIDUE_UM, SCORCHED_LEVEL, THROUGH_UM } from '../../../burn/clearing.ts';
import kernel from '../../../burn/kernel/burn.kernel.ts?glsl';
import { aimOf, type SwathWork } from '../../../burn/runner.ts';
import {
  CRACK_UM,
  countUnsound,
  DECOMPOSITION_RISE_K,
  focusStep,
  HALF_DARK_UM,
  type LaidStack,
  LOWEST_FACTOR,
  PALEST,
} from '../../../burn/swath.ts';
import { HISTOGRAM_BIN_UM, HISTOGRAM_BINS, type SwathResult } from '../../../burn/swath-task.ts';
import { COLUMNS } from '../../../physics/material/appearance.ts';
import { type CardPass, type CardPlan, dotSteps, planCard, type Table } from './card-plan.ts';
import { Programs, Textures, type Uniform } from './gl.ts';

/** Cells a side that are counted together, and the lines of such tiles that are summed up apart. */
const TILE = 32;
const SUM_LINES = 16;

const VERSION = '#version 300 es';

/** A deepest place that stands for one that is no number. */
const UNSOUND_UM = 1e30;

/** The shader of a cell: constants of the TypeScript, the law from its kernel, and what is round it. */
function lawShader(coats: number, { passes, steps, quads }: CardPlan): string {
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
  };
  const wholes = { COATS: coats, PASSES: passes.length, FOCUS_STEPS: steps, QUADS: quads, COLOR_COLUMNS: COLUMNS };
  const precisions = ['float', 'int', 'sampler2D', 'isampler2D', 'sampler2DArray', 'usampler2DArray'];
  const { keepExcess: _, ...functions } = kernel;
  return [
    VERSION,
    ...precisions.map((type) => `precision highp ${type};`),
    ...Object.entries(wholes).map(([name, value]) => `#define ${name} ${value}`),
    ...Object.entries(numbers).map(([name, value]) => `#define ${name} ${decimal(value)}`),
    law.replace('// LAW', () => Object.values(functions).join('\n')),
  ].join('\n');
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
export type LayRows = (y0: number, rows: number) => Promise<LaidStack & { readonly unsound: number }>;

/** Rows laid at a time. */
const LAID_ROWS = 64;

/** GLSL wants a point in a number. */
const decimal = (value: number): string => (/[.e]/.test(String(value)) ? String(value) : `${value}.0`);

/**
 * A picture on a graphics card. What it is burned from stays there until something of it changes: dots, films and wood, aims, heat,
 * colours; a change of power, feed or focus sends small tables only. It is burned in bands, so that no watchdog takes one for a hang. State
 * of a place lives in registers from the first pass to the last (shaders/burn/law.frag).
 */
export class CardSession {
  readonly gl: WebGL2RenderingContext;
  private readonly textures: Textures;
  private readonly programs: Programs;
  /** @throws DeviceLost if the context is gone. */
  readonly assertLives: () => void;
  /** What lies on the card, by the name of its texture. */
  private readonly held = new Map<string, unknown>();
  private plan: CardPlan | null = null;
  private work: SwathWork | null = null;
  private unsoundGround = 0;
  private unsoundTables = 0;
  private aimCounts: { readonly picture: Uint32Array; readonly light: Uint32Array } | null = null;

  /** @throws Error if the context cannot draw into floating point. */
  constructor(gl: WebGL2RenderingContext) {
    this.gl = gl;
    if (!gl.getExtension('EXT_color_buffer_float')) throw new Error('this card cannot write numbers');
    this.textures = new Textures(gl);
    this.programs = new Programs(gl, whole);
    this.assertLives = watchContext(gl);
  }

  /** Brings what is to be burned to the card, as far as it is not there. */
  async hold(work: SwathWork, layRows: LayRows, stop: () => void): Promise<void> {
    const { gl, textures } = this;
    const { job, grid, screened, tone } = work;
    const { width, height } = grid;
    const plan = planCard(work);
    this.work = work;
    this.plan = plan;
    const coats = job.stack.coats.length;

    const groundKey = `${job.filmKey} ${height}`;
    if (this.held.get('ground') !== groundKey) {
      this.held.delete('ground');
      this.unsoundGround = 0;
      textures.allocate('ground', gl.R32F, width, height, coats + 4);
      for (let y0 = 0; y0 < height; y0 += LAID_ROWS) {
        const rows = Math.min(LAID_ROWS, height - y0);
        const laid = await layRows(y0, rows);
        stop();
        const put = (layer: number, values: Float32Array) =>
          textures.fill('ground', gl.RED, gl.FLOAT, values, { y: y0, rows, layer });
        for (let i = 0; i < coats; i++) {
          put(i, laid.thicknessUm.data.subarray(i * rows * width, (i + 1) * rows * width));
        }
        put(coats, laid.reliefUm);
        put(coats + 1, laid.density);
        put(coats + 2, laid.shade);
        put(coats + 3, laid.woodAbsorptance);
        this.unsoundGround += laid.unsound;
      }
      this.held.set('ground', groundKey);
    }

    screened.forEach((pass, i) => {
      const { columns, rows } = pass.raster;
      this.holdOnce(`dots ${i}`, [pass.levels, pass.mask], () => {
        textures.allocate(`dots ${i}`, gl.R8UI, columns, rows, 2);
        textures.fill(`dots ${i}`, gl.RED_INTEGER, gl.UNSIGNED_BYTE, pass.levels, { rows, layer: 0 });
        textures.fill(`dots ${i}`, gl.RED_INTEGER, gl.UNSIGNED_BYTE, pass.mask, { rows, layer: 1 });
      });
      if (plan.steps === 1) return;
      const { firstDot, dots, half } = plan.passes[i];
      const where = [job.slab, job.originXMm, job.originYMm, grid, pass.raster, firstDot, dots, half];
      this.holdOnce(`steps ${i}`, [JSON.stringify(where)], () => {
        const { data, ...size } = dotSteps(work, i, plan.passes[i]);
        textures.table(`steps ${i}`, gl.R8UI, gl.RED_INTEGER, gl.UNSIGNED_BYTE, { ...size, data });
      });
    });
    for (const i of screened.keys()) if (plan.steps === 1) this.single(`steps ${i}`, gl.R8UI);

    this.holdOnce(
      'spans',
      screened.map(({ spans }) => spans),
      () => {
        const rows = Math.max(...screened.map(({ raster }) => raster.rows));
        const data = new Int32Array(4 * screened.length * rows);
        screened.forEach(({ spans }, i) => {
          for (let row = 0; row < spans.first.length; row++) {
            const span = [spans.first[row], spans.end[row], spans.backwards[row], 0];
            data.set(span, 4 * (row * screened.length + i));
          }
        });
        const table = { width: screened.length, height: rows, data };
        textures.table('spans', gl.RGBA32I, gl.RGBA_INTEGER, gl.INT, table);
      },
    );

    this.holdOnce('aim', [tone, work.lightens, ...screened.flatMap(({ levels, mask }) => [levels, mask])], () => {
      const aim = aimOf(work, 0, height);
      this.aimCounts = countAims(aim, width, height);
      this.held.delete('focus');
      textures.allocate('marks', gl.R8UI, width, height, 2);
      textures.fill('marks', gl.RED_INTEGER, gl.UNSIGNED_BYTE, aim, { rows: height, layer: 0 });
    });
    const focusKey = plan.steps > 1 ? JSON.stringify([job.slab, job.originXMm, job.originYMm, grid]) : '';
    this.holdOnce('focus', [focusKey], () => {
      if (plan.steps === 1) return;
      const steps = new Uint8Array(width * height);
      for (let y = 0; y < height; y++) {
        for (let x = 0; x < width; x++) steps[y * width + x] = focusStep(job, job.passes[0], x + 0.5, y + 0.5);
      }
      textures.fill('marks', gl.RED_INTEGER, gl.UNSIGNED_BYTE, steps, { rows: height, layer: 1 });
    });

    this.holdHeat(plan);
    const { appearance } = job;
    this.holdOnce('colors', [appearance], () => {
      const rows = appearance.rows * (appearance.coats + 1);
      textures.allocate('colors', gl.RGB32F, COLUMNS, rows, 2);
      textures.fill('colors', gl.RGB, gl.FLOAT, appearance.rgb, { rows, layer: 0 });
      textures.fill('colors', gl.RGB, gl.FLOAT, appearance.knotRgb, { rows, layer: 1 });
    });
    this.sendTables(plan);
  }

  private holdOnce(name: string, key: readonly unknown[], send: () => void): void {
    const held = this.held.get(name) as readonly unknown[] | undefined;
    if (held?.length === key.length && held.every((part, i) => part === key[i])) return;
    this.held.delete(name);
    send();
    this.held.set(name, key);
  }

  /** A texture that is never read from must still be of the right kind. */
  private single(name: string, format: number): void {
    this.holdOnce(name, ['single'], () => this.textures.allocate(name, format, 1, 1));
  }

  private holdHeat({ passes }: CardPlan): void {
    const { gl, textures } = this;
    const maps = passes.map(({ warmth }) => warmth);
    this.holdOnce('heat', maps, () => {
      const largest = (of: (map: NonNullable<(typeof maps)[number]>) => number) =>
        Math.max(1, ...maps.map((map) => (map ? of(map) : 1)));
      const olderWidth = largest(({ columns }) => columns);
      const nearWidth = largest(({ nearColumns }) => nearColumns);
      textures.allocate(
        'older',
        gl.R32F,
        olderWidth,
        largest(({ rows, directions }) => rows * directions),
        maps.length,
      );
      textures.allocate(
        'near',
        gl.R32F,
        nearWidth,
        largest(({ nearK, nearColumns }) => nearK.length / nearColumns),
        maps.length,
      );
      maps.forEach((map, layer) => {
        if (!map) return;
        const put = (name: string, columns: number, values: Float32Array) =>
          textures.fill(name, gl.RED, gl.FLOAT, values, { columns, rows: values.length / columns, layer });
        put('older', map.columns, map.olderK);
        put('near', map.nearColumns, map.nearK);
      });
    });
  }

  private sendTables(plan: CardPlan): void {
    const { gl, textures } = this;
    const send = (name: string, format: number, layout: number, table: Table) =>
      textures.table(name, format, layout, gl.FLOAT, table);
    send('watts', gl.R32F, gl.RED, plan.watts);
    send('ramps', gl.R32F, gl.RED, plan.ramps);
    send('weights', gl.R32F, gl.RED, plan.weights);
    send('layers', gl.R32F, gl.RED, plan.layers);
    send('places', gl.RG32F, gl.RG, plan.places);
    plan.passes.forEach(({ along: table }, i) => send(`along ${i}`, gl.RGBA32F, gl.RGBA, table));
    const tables = [
      plan.watts,
      plan.ramps,
      plan.weights,
      plan.layers,
      plan.places,
      ...plan.passes.map((pass) => pass.along),
    ];
    const heat = plan.passes.flatMap(({ warmth }) => (warmth ? [warmth.olderK, warmth.nearK] : []));
    this.unsoundTables = [...tables.map(({ data }) => data), ...heat, plan.coldFactors].reduce(
      (found, values) => found + countUnsound(values),
      0,
    );
  }

  /** Burns cells of the rows `y0 … y0 + rows`; what comes out lies in the band's textures. Returns at once. */
  burn(y0: number, rows: number): void {
    const { gl, textures, programs } = this;
    const { work, plan } = this;
    if (!work || !plan) throw new Error('the card holds nothing to burn');
    const { job, grid, screened } = work;
    const { width } = grid;
    const coats = job.stack.coats.length;
    const reach = plan.passes.map((pass) => pass.rows(y0, rows));
    const energyRows = Math.max(...reach.map(([first, end]) => end - first));
    textures.reserve(
      'energy',
      gl.RGBA32F,
      Math.max(...plan.passes.map(({ dots }) => dots)),
      energyRows,
      plan.quads * plan.passes.length,
    );
    const commandWidth = Math.max(...plan.passes.map(({ dots, half }) => dots + 2 * half));
    textures.reserve('command', gl.RG32F, commandWidth, energyRows);

    plan.passes.forEach((pass, i) => {
      const [first, end] = reach[i];
      const { columns, rows: rasterRows } = screened[i].raster;
      programs.draw(command, [{ texture: textures.of('command') }], pass.dots + 2 * pass.half, end - first, {
        uDots: textures.of(`dots ${i}`),
        uSpans: textures.of('spans'),
        uWatts: textures.of('watts'),
        uRamps: textures.of('ramps'),
        uPass: i,
        uFirst: [pass.firstDot - pass.half, first],
        uRaster: [columns, rasterRows],
        uRampDots: pass.ramps.length,
        uBack: pass.back,
        uLeft: { floats: pass.left },
      });
      for (let quad = 0; quad < pass.quads; quad++) {
        programs.draw(
          along,
          [{ texture: textures.of('energy'), layer: i * plan.quads + quad }],
          pass.dots,
          end - first,
          {
            uCommand: textures.of('command'),
            uSpans: textures.of('spans'),
            uSteps: textures.of(`steps ${i}`),
            uAlong: textures.of(`along ${i}`),
            uPass: i,
            uFirstRow: first,
            uRasterRows: rasterRows,
            uHalf: pass.half,
            uStepCount: plan.steps,
            uQuads: pass.quads,
            uQuad: quad,
            uLate: pass.late ? 1 : 0,
            uPerFeed: { floats: [pass.perFeed] },
          },
        );
      }
    });

    textures.reserve('color', gl.RGBA8, width, rows);
    textures.reserve('relief', gl.RGBA8, width, rows);
    textures.reserve('facts', gl.RGBA32F, width, rows);
    textures.reserve('through', gl.R8, width, rows);
    const under = job.stack.coats[1];
    programs.draw(
      lawShader(coats, plan),
      ['color', 'relief', 'facts', 'through'].map((name) => ({ texture: textures.of(name) })),
      width,
      rows,
      {
        uGround: textures.of('ground'),
        uMarks: textures.of('marks'),
        uEnergy: textures.of('energy'),
        uWeights: textures.of('weights'),
        uLayers: textures.of('layers'),
        uPlaces: textures.of('places'),
        uOlder: textures.of('older'),
        uNear: textures.of('near'),
        uSpans: textures.of('spans'),
        uColors: textures.of('colors'),
        uFirstCell: y0,
        uSub: [job.subX, job.subY],
        uStride: job.stride,
        uNominalUm: { floats: [job.stack.coats.reduce((total, { dryThicknessUm }) => total + dryThicknessUm, 0)] },
        uScorch: { floats: under ? [under.absorptance, under.scorchOnsetJPerMm2] : [0, 0] },
        'uPerUm[0]': { list: job.appearance.perUm },
        uExcess: { floats: [job.appearance.perExcess, job.appearance.harmlessExcess] },
        uColorRows: job.appearance.rows,
        'uColdFactors[0]': { list: plan.coldFactors },
        ...Object.assign({}, ...plan.passes.map((pass, i) => passUniforms(pass, i, reach[i][0]))),
      },
    );
    this.count(y0, rows);
  }

  private count(y0: number, rows: number): void {
    const { gl, textures, programs } = this;
    const width = this.work!.grid.width;
    const across = Math.ceil(width / TILE);
    const down = Math.ceil(rows / TILE);
    textures.reserve('counts', gl.RGBA32F, 4 * across, down, 4);
    const layers = [0, 1, 2, 3].map((layer) => ({ texture: textures.of('counts'), layer }));
    programs.draw(count, layers, 4 * across, down, {
      uFacts: textures.of('facts'),
      uMarks: textures.of('marks'),
      uFirstCell: y0,
      uCells: [width, rows],
      uBins: HISTOGRAM_BINS,
      uTile: TILE,
      uBinUm: { floats: [HISTOGRAM_BIN_UM] },
    });
    textures.reserve('sums', gl.RGBA32F, 16, SUM_LINES);
    programs.draw(sum, [{ texture: textures.of('sums') }], 16, SUM_LINES, {
      uCounts: textures.of('counts'),
      uTiles: [across, down],
      uLines: SUM_LINES,
    });
  }

  /**
   * What came of the band that was burned last. Waits for the card.
   * @throws DeviceLost if the card was lost before all of it was read.
   */
  read(y0: number, rows: number): SwathResult {
    const { gl, programs, textures } = this;
    const width = this.work!.grid.width;
    const sums = new Float32Array(4 * 16 * SUM_LINES);
    programs.read(textures.of('sums'), 16, SUM_LINES, gl.RGBA, gl.FLOAT, sums);
    const color = new Uint8Array(4 * width * rows);
    programs.read(textures.of('color'), width, rows, gl.RGBA, gl.UNSIGNED_BYTE, color);
    const relief = new Uint16Array(2 * width * rows);
    programs.read(textures.of('relief'), width, rows, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(relief.buffer));
    const through = new Uint8Array(width * rows);
    programs.read(textures.of('through'), width, rows, gl.RED, gl.UNSIGNED_BYTE, through);
    this.assertLives();
    return { y0, rows, backend: 'card', stats: this.statsOf(y0, rows, sums), color, relief, through, fields: null };
  }

  private statsOf(y0: number, rows: number, sums: Float32Array): SwathResult['stats'] {
    const totals = new Float64Array(64);
    for (let line = 0; line < SUM_LINES; line++) {
      for (let k = 0; k < 64; k++) {
        const value = sums[64 * line + k];
        totals[k] = k === 63 ? Math.max(totals[k], value) : totals[k] + value;
      }
    }
    const histogram = Uint32Array.from(totals.subarray(0, HISTOGRAM_BINS));
    const [residueSumUm, scorchedCells, unclearedCells, maxDepthUm] = totals.subarray(HISTOGRAM_BINS);
    const within = (counts: Uint32Array) => counts.subarray(y0, y0 + rows).reduce((total, value) => total + value, 0);
    const { picture, light } = this.aimCounts!;
    return {
      unsound: (maxDepthUm < UNSOUND_UM ? 0 : 1) + this.unsoundGround + this.unsoundTables,
      pictureCells: within(picture),
      lightCells: within(light),
      unclearedCells,
      scorchedCells,
      residueSumUm,
      maxDepthUm,
      histogram,
    };
  }

  dispose(): void {
    this.textures.dispose();
    this.programs.dispose();
    this.held.clear();
  }
}
