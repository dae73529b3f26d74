import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import { accessSync, constants } from 'node:fs';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, extname, join } from 'node:path';
import { pathToFileURL } from 'node:url';
import sharp from 'sharp';
import type { Maker } from '../base/maker.ts';
import { createCoarsePipeline, groundGrid, layGround } from '../burn/coarse.ts';
import type { Photo } from '../burn/prepare.ts';
import { createProofPipeline } from '../burn/proof.ts';
import { createInlineRunner } from '../burn/runner.ts';
import type { SwathResult } from '../burn/swath-task.ts';
import { encodeGlb } from '../outputs/model/glb.ts';
import { type EncodePicture, slabModel } from '../outputs/model/slab-model.ts';
import { encodeUsdz } from '../outputs/model/usdz.ts';
import type { Piece } from '../piece/schema.ts';
import { type ClientFileData, clientFile } from '../render/mockup/client-file.ts';
import stillProgram from '../render/mockup/still-page.ts?bundle';
import clientProgram from '../render/mockup/viewer.ts?bundle';
import {
  drawFace,
  type FaceMap,
  MOST_WOOD_PX,
  packedRelief,
  placeWood,
  type Rgba,
  type SurfaceInSwaths,
  shownPhoto,
  type WoodPicture,
} from '../render/model/face-map.ts';
import { facePartsOf, faceWidthPx, factsOf, shapeOf } from '../render/model/of-piece.ts';
import { plainPicture } from '../render/model/plain-picture.ts';
import { type SlabParts, slabParts } from '../render/model/slab-parts.ts';
import { likelyEnds } from '../studies/sure/how-sure.ts';
import { type Command, createProgress } from './io.ts';
import { MAKER_OPTIONS, makerOption } from './maker-options.ts';
import { BURN_OPTIONS, openJob, PIECE_OPTION } from './open-job.ts';
import { CliError, numberOption, UsageError } from './options.ts';
import { createCliRunner } from './runner.ts';

const KINDS = ['.png', '.jpg', '.html', '.glb', '.usdz'] as const;

type Kind = (typeof KINDS)[number];

const SETTINGS = ['shelf', 'cup', 'wall'] as const;

type SettingChoice = (typeof SETTINGS)[number];

/** Pixels over the slab's width of the pictures inside a file for the client, and in a model. */
const CLIENT_PX = 2000;

const MODEL_PX = 2048;

const STILL_PX = 1600;

const DRAWS = 24;

/** The lamp of stills, as it stands on the page at first. */
const LAMP = { azimuthRad: 5.5, elevationRad: 0.62 };

export const MOCKUP: Command = {
  name: 'mockup',
  operands: '[PHOTO]',
  summary: 'Show the client what it will look like: a still, a page that opens offline, or a model for a phone.',
  options: [
    PIECE_OPTION,
    { name: 'out', value: 'FILE', help: `where to write; its ending says what: ${KINDS.join(', ')}` },
    { name: 'setting', value: 'NAME', help: `where the slab stands: ${SETTINGS.join(', ')} (default shelf)` },
    { name: 'width-px', value: 'N', help: 'width of a still, up to 4000 (default 1600)' },
    ...BURN_OPTIONS,
    ...MAKER_OPTIONS,
    { name: 'json', help: 'print what was written and how it was drawn' },
  ],
  async run(operands, values, io) {
    const path = values['out'] as string | undefined;
    const kind = KINDS.find((one) => one === extname(path ?? '').toLowerCase());
    if (!path || !kind) throw new UsageError(`mockup: --out must name a file that ends in ${KINDS.join(', ')}`);
    const setting = SETTINGS.find((one) => one === (values['setting'] ?? 'shelf'));
    if (!setting) throw new UsageError(`--setting: must be ${SETTINGS.join(', ')}, got "${values['setting']}"`);
    const widthText = values['width-px'] as string | undefined;
    const widthPx = widthText ? Math.round(numberOption('--width-px', widthText, 64, 4000)) : STILL_PX;
    const { piece, photo, images } = await openJob('mockup', operands, values, () => io.outputs.claim(path));
    const maker = await makerOption(piece, values);
    const wood = await openWood(piece, images);
    const parts = slabParts(shapeOf(piece.slab), wood);
    const progress = createProgress(io);
    try {
      const still = kind === '.png' || kind === '.jpg';
      const faces = await makeFaces(
        piece,
        photo,
        wood,
        {
          widthPx: still ? Math.min(4096, Math.max(1200, widthPx)) : kind === '.html' ? CLIENT_PX : MODEL_PX,
          draws: kind === '.html' ? DRAWS : 0,
          now: io.now,
        },
        progress.show,
      );
      progress.show(1, 'draw');
      const made = await draw(kind, piece, maker, { ...faces, parts, photographed: wood !== null }, setting, widthPx);
      const written = await io.outputs.write(path, made.bytes);
      progress.clear();
      if (values['json'])
        io.out(`${JSON.stringify({ file: path, ...written, setting, drawnBy: made.drawnBy }, null, 2)}\n`);
      else io.out(`Written to ${path}: ${made.drawnBy}.\nWood and paint vary: let the client know.\n`);
    } finally {
      progress.clear();
    }
  },
};

/** The photograph that bare wood is shown by, decoded. @throws CliError if it cannot be. */
async function openWood({ slab }: Piece, images: ReadonlyMap<string, Uint8Array>): Promise<WoodPicture | null> {
  const photo = shownPhoto(slab);
  const bytes = photo && images.get(photo.file);
  if (!photo || !bytes) return null;
  try {
    const shrunk = sharp(bytes).resize({ width: MOST_WOOD_PX, withoutEnlargement: true });
    const { data, info } = await shrunk.toColourspace('srgb').ensureAlpha().raw().toBuffer({ resolveWithObject: true });
    return placeWood(photo, { width: info.width, height: info.height, data });
  } catch (error) {
    throw new CliError(`${photo.file}, the slab’s photograph, could not be read: ${(error as Error).message}`);
  }
}

interface DrawnFaces extends MadeFaces {
  readonly parts: SlabParts;
  /** Whether the rim has a photograph's colours. */
  readonly photographed: boolean;
}

interface Made {
  readonly bytes: Uint8Array;
  /** How, in words. */
  readonly drawnBy: string;
}

async function draw(
  kind: Kind,
  piece: Piece,
  maker: Maker,
  faces: DrawnFaces,
  setting: SettingChoice,
  widthPx: number,
): Promise<Made> {
  switch (kind) {
    case '.html':
      return {
        bytes: new TextEncoder().encode(await page(piece, maker, faces, setting)),
        drawnBy: 'a page that opens offline',
      };
    case '.glb':
      return {
        bytes: encodeGlb(await slabModel(piece.name, shapeOf(piece.slab), faces.parts, faces.face, encode)),
        drawnBy: 'glTF 2.0',
      };
    case '.usdz':
      return {
        bytes: encodeUsdz(await slabModel(piece.name, shapeOf(piece.slab), faces.parts, faces.face, encode)),
        drawnBy: 'USDZ',
      };
    default:
      return still(kind, piece, faces, setting, widthPx);
  }
}

async function still(
  kind: '.png' | '.jpg',
  piece: Piece,
  faces: DrawnFaces,
  setting: SettingChoice,
  widthPx: number,
): Promise<Made> {
  const type = kind === '.png' ? 'image/png' : 'image/jpeg';
  const chromium = findChromium(process.env);
  if (chromium) {
    const height = Math.round((widthPx * 3) / 4);
    const data = { ...(await dataOf(piece, faces, setting)), width: widthPx, height };
    const png = await drawStill(chromium, stillPage(data, stillProgram));
    if (png) {
      const bytes = kind === '.png' ? png : await sharp(png).jpeg({ quality: 93 }).toBuffer();
      return { bytes, drawnBy: `a rendered still with software graphics in ${chromium}` };
    }
  }
  const bytes = await encode(plainPicture(piece.slab, faces.face, LAMP, widthPx), type, 0.93);
  return { bytes, drawnBy: 'a plain lit picture from above, for want of a browser that renders one' };
}

const address = async (picture: Rgba, type: 'image/png' | 'image/jpeg', quality?: number): Promise<string> =>
  `data:${type};base64,${Buffer.from(await encode(picture, type, quality)).toString('base64')}`;

async function dataOf(
  piece: Piece,
  { face, parts: { rimMap }, photographed }: DrawnFaces,
  setting: SettingChoice,
): Promise<ClientFileData> {
  const { width, height, color, lowUm, highUm } = face;
  return {
    slab: shapeOf(piece.slab),
    color: await address({ width, height, data: color }, 'image/jpeg', 0.9),
    relief: await address(packedRelief(face), 'image/png'),
    lowUm,
    highUm,
    rim: photographed
      ? {
          color: await address({ ...rimMap, data: rimMap.color }, 'image/jpeg'),
          normal: await address({ ...rimMap, data: rimMap.normal }, 'image/jpeg'),
        }
      : null,
    setting,
    lamp: LAMP,
  };
}

async function page(piece: Piece, maker: Maker, faces: DrawnFaces, setting: SettingChoice): Promise<string> {
  const { face, band } = faces;
  const plain = (one: FaceMap, px: number) => address(plainPicture(piece.slab, one, LAMP, px), 'image/jpeg', 0.86);
  return clientFile({
    name: piece.name,
    facts: factsOf(piece),
    maker,
    data: await dataOf(piece, faces, setting),
    still: await plain(face, 1000),
    band: band && { lighter: await plain(band.lighter, 520), darker: await plain(band.darker, 520) },
    program: clientProgram,
    sha256: async (text) => createHash('sha256').update(text, 'utf8').digest('base64'),
  });
}

const encode: EncodePicture = async ({ width, height, data }, type, quality = 0.9) => {
  const image = sharp(data, { raw: { width, height, channels: 4 } }).removeAlpha();
  return type === 'image/png'
    ? image.png({ compressionLevel: 9, adaptiveFiltering: true }).toBuffer()
    : image.jpeg({ quality: Math.round(100 * quality), chromaSubsampling: '4:4:4', mozjpeg: true }).toBuffer();
};

/** A page that draws one still by itself: its pictures stand in it, so that it counts as loaded only when they are there. */
function stillPage(
  { color, relief, rim, ...data }: ClientFileData & { readonly width: number; readonly height: number },
  program: string,
): string {
  const image = (id: string, address: string): string => `<img id="${id}" src="${address}" alt="">`;
  const json = JSON.stringify({ ...data, rim: rim && {} }).replace(/</g, '\\u003c');
  return `<!doctype html>
<meta charset="utf-8">
<script type="application/json" id="piece">${json}</script>
<script>${program.replace(/<\/(script)/gi, '<\\/$1')}</script>
${image('color', color)}${image('relief', relief)}${rim ? image('rim', rim.color) + image('rim-normal', rim.normal) : ''}
`;
}

const NAMES = ['chromium', 'chromium-browser', 'google-chrome', 'chrome'];

/** Longest that a still may take before it is given up, ms. */
const PATIENCE_MS = 180_000;

/** A Chromium: the one named in `FOREBURN_CHROMIUM`, else one on the path; null without. */
function findChromium(environment: NodeJS.ProcessEnv): string | null {
  const named = environment['FOREBURN_CHROMIUM'];
  if (named === '') return null;
  const folders = (environment['PATH'] ?? '').split(delimiter).filter((folder) => folder !== '');
  const candidates = named ? [named] : NAMES.flatMap((name) => folders.map((folder) => join(folder, name)));
  return candidates.find(runs) ?? null;
}

function runs(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

/** Room for what a browser prints: the largest still as PNG in base64, bytes. */
const MOST_PRINTED = 1 << 27;

const ADDRESS = /data:image\/png;base64,([A-Za-z0-9+/=]+)/;

/**
 * Has a browser draw a still with software graphics: opens a page of `render/mockup/still-page.ts` and takes the picture from the document that is
 * left. Null if it cannot. The page needs nothing from outside.
 */
async function drawStill(chromium: string, html: string): Promise<Uint8Array | null> {
  const folder = await mkdtemp(join(tmpdir(), 'foreburn-mockup-'));
  try {
    const page = join(folder, 'mockup.html');
    await writeFile(page, html);
    const flags = [
      '--headless=new',
      '--no-sandbox',
      '--use-angle=swiftshader',
      '--enable-unsafe-swiftshader',
      '--ignore-gpu-blocklist',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      '--no-first-run',
      `--user-data-dir=${join(folder, 'profile')}`,
      '--dump-dom',
      pathToFileURL(page).href,
    ];
    const printed = await new Promise<string>((resolve) => {
      execFile(chromium, flags, { timeout: PATIENCE_MS, maxBuffer: MOST_PRINTED }, (_, out) => resolve(out));
    });
    const found = ADDRESS.exec(printed);
    return found && Buffer.from(found[1], 'base64');
  } finally {
    await rm(folder, { recursive: true, force: true, maxRetries: 5 }).catch(() => {});
  }
}

type Swath = SurfaceInSwaths['swaths'][number];

const drawn = ({ y0, rows, color, relief }: SwathResult): Swath => ({ y0, rows, color: color!, relief: relief! });

interface MadeFaces {
  readonly face: FaceMap;
  /** Coarse faces at the ends of what is likely; null if not asked for. */
  readonly band: { readonly lighter: FaceMap; readonly darker: FaceMap } | null;
}

/** Pixels over the slab's width of the faces of the band. */
const BAND_PX = 900;

/** Burns a piece and draws its face as it will look. */
async function makeFaces(
  piece: Piece,
  photo: Photo,
  wood: WoodPicture | null,
  options: { readonly widthPx: number; readonly draws: number; readonly now: () => number },
  onProgress: (share: number, stage: string) => void,
): Promise<MadeFaces> {
  const runner = createCliRunner();
  try {
    const swaths: Swath[] = [];
    const pipeline = createProofPipeline();
    const proof = await pipeline.proof(
      { piece, photo, collect: { surface: true, fields: false, painted: false } },
      runner,
      { onSwath: (swath) => swaths.push(drawn(swath)), onProgress, now: options.now },
    );
    onProgress(1, 'slab');
    const laid: Swath[] = [];
    await layGround(piece, proof.appearance, runner, (swath) => laid.push(drawn(swath)));
    const ground = { ...groundGrid(piece), swaths: laid };
    const { width, height, pitchMm } = proof.grid;
    const face = drawFace(
      facePartsOf(piece, ground, { width, height, pitchMm, swaths }, wood),
      faceWidthPx(piece, options.widthPx),
    );
    const band = options.draws > 0 ? await bandOf(piece, photo, wood, ground, options.draws, onProgress) : null;
    return { face, band };
  } finally {
    runner.dispose();
  }
}

async function bandOf(
  piece: Piece,
  photo: Photo,
  wood: WoodPicture | null,
  ground: SurfaceInSwaths,
  draws: number,
  onProgress: (share: number, stage: string) => void,
): Promise<MadeFaces['band']> {
  const runner = createInlineRunner();
  const pipeline = createProofPipeline();
  const coarse = createCoarsePipeline();
  try {
    const ends = await likelyEnds(piece, coarse.scene(piece, photo), pipeline.appearance(piece), runner, {
      draws,
      warmthsK: coarse.warmthsK(piece, photo),
      onShare: (share) => onProgress(share, 'likely results'),
    });
    const faceOf = async (one: Piece): Promise<FaceMap> => {
      const quick = await coarse.coarse(one, photo, pipeline.appearance(one), runner);
      const { width, height, pitchMm, color, relief } = quick;
      const proof = { width, height, pitchMm, swaths: [{ y0: 0, rows: height, color, relief }] };
      return drawFace(facePartsOf(one, ground, proof, wood), faceWidthPx(one, BAND_PX));
    };
    return { lighter: await faceOf(ends.lighter), darker: await faceOf(ends.darker) };
  } finally {
    runner.dispose();
  }
}
