import { basename } from 'node:path';
import { LIMITS } from '../base/input-error.ts';
import type { Photo } from '../burn/prepare.ts';
import { linearise } from '../image/linearise.ts';
import type { DecodedPhoto, Picture } from '../image/picture.ts';
import { pixelsToSrgb } from '../image/profile/icc.ts';
import { castlessPicture } from '../image/repair/fade.ts';
import { fitPicture } from '../physics/bed/placed-box.ts';
import { type FilmMap, parseFilmMap, withFilmMap } from '../physics/film/film-map.ts';
import { createPiece } from '../piece/defaults.ts';
import type { Piece } from '../piece/schema.ts';
import { LETTERING_OPTIONS, withLettering } from './lettering-options.ts';
import { applyOptions, CliError, type OptionSpec, type OptionValues, UsageError } from './options.ts';
import { decodePicture, naming, readBytes, readPieceFile } from './read-files.ts';

export const PIECE_OPTION: OptionSpec = {
  name: 'piece',
  value: 'FILE',
  reads: true,
  help: 'slab, coats, machine and passes from a .foreburn file or its piece.json; its photograph too, if no PHOTO is given',
};

/** Settings of the burn that a command line may change. */
export const BURN_OPTIONS: readonly OptionSpec[] = [
  { name: 'width-mm', value: 'N', help: 'width of the picture on the slab' },
  { name: 'light-end', value: 'PCT', help: 'power at the lightest tone, % of full power' },
  { name: 'dark-end', value: 'PCT', help: 'power at the darkest tone, % of full power' },
  { name: 'feed', value: 'MM_PER_MIN', help: 'feed rate' },
  { name: 'row-pitch', value: 'MM', help: 'distance between rows' },
  { name: 'screen', value: 'NAME', help: 'one of "foreburn screens", or continuous' },
  { name: 'even-power', help: 'less power where the work is warm, more where a late source begins' },
  {
    name: 'pass',
    value: '"light=…,dark=…,feed=…"',
    several: true,
    help: 'one more pass; also pitch, heading (degrees), screen, focus (mm)',
  },
  {
    name: 'film-map',
    value: 'FILE',
    reads: true,
    help: 'measured thickness of the top coat over the box round the slab, µm: a table (CSV) or a NumPy array (.npy)',
  },
  { name: 'flat-film', help: 'coats of even thickness on plain flat wood' },
  { name: 'cold', help: 'without the heat that rows leave for the next' },
  ...LETTERING_OPTIONS,
];

export interface OpenedJob {
  readonly piece: Piece;
  readonly photo: Photo;
  readonly images: ReadonlyMap<string, Uint8Array>;
}

/** What files made of a piece and its photograph may be called after, without an ending. */
export const baseNameOf = (operands: readonly string[], values: OptionValues): string =>
  basename(operands[0] ?? (values['piece'] as string | undefined) ?? '').replace(/\.[^.]*$/, '');

/**
 * A piece and its photograph: `PHOTO`, `PHOTO --piece FILE`, or `--piece FILE` alone if the file holds its photograph.
 * @param claim takes the places of what is written: called when the options are known to be right and nothing is decoded yet
 * @throws UsageError for wrong options, before anything is decoded; CliError for files.
 */
export async function openJob(
  command: string,
  operands: readonly string[],
  values: OptionValues,
  claim: () => Promise<void> = async () => {},
): Promise<OpenedJob> {
  const piecePath = values['piece'] as string | undefined;
  if (operands.length > 1 || (operands.length === 0 && !piecePath)) {
    throw new UsageError(`${command}: give one photograph, or a piece that holds one (--piece FILE)`);
  }
  const saved = piecePath ? await readPieceFile(piecePath) : null;
  applyOptions(saved?.piece ?? createPiece('', ''), values);
  const mapPath = values['film-map'] as string | undefined;
  if (mapPath && values['flat-film']) throw new UsageError(`${command}: give --film-map or --flat-film, not both`);
  const map = mapPath ? await readFilmMap(mapPath) : null;
  await withLettering(saved?.piece ?? createPiece('', ''), values);
  await claim();
  const [photoPath] = operands;
  const photo = photoPath ? await readPhoto(photoPath) : await heldPhoto(piecePath as string, saved!);
  const set = applyOptions(saved?.piece ?? freshPiece(basename(photoPath), photo.picture), values);
  const lettered = await withLettering(set, values);
  const piece = map ? naming(mapPath as string, () => withFilmMap(lettered, map)) : lettered;
  const images = saved?.images ?? new Map();
  return { piece, photo: { key: 'photo', ...photo }, images };
}

async function readFilmMap(path: string): Promise<FilmMap> {
  const bytes = await readBytes(path, LIMITS.drawingBytes);
  return naming(path, () => parseFilmMap(bytes));
}

/** The photograph that a piece holds. @throws CliError where it holds none. */
export async function heldPhoto(path: string, { piece, images }: Awaited<ReturnType<typeof readPieceFile>>) {
  const bytes = images.get(piece.picture.file);
  if (!bytes) throw new CliError(`${path}: this piece does not hold its photograph; name one before --piece`);
  return decodePhoto(bytes, `${path}: ${piece.picture.file}`);
}

/** The defaults, with the picture as large as the slab allows. */
function freshPiece(photoName: string, picture: Picture): Piece {
  const piece = createPiece('', photoName);
  return { ...piece, picture: fitPicture(piece.slab, piece.picture, picture) ?? piece.picture };
}

/**
 * Decodes a photograph: JPEG, PNG, WebP, TIFF; embedded profiles are converted to sRGB as the page converts them, EXIF orientation is
 * applied.
 * @throws CliError naming the file and the reason.
 */
const readPhoto = async (path: string): Promise<DecodedPhoto> =>
  decodePhoto(await readBytes(path, LIMITS.pictureBytes), path);

/** @param name what errors call the file. */
export async function decodePhoto(bytes: Uint8Array, name: string): Promise<DecodedPhoto> {
  const isDeep = (bitDepth: number): boolean => bitDepth > 8;
  const { header, data, info, profile } = await decodePicture(bytes, name, (image, { bitDepth }) =>
    image.toColourspace(isDeep(bitDepth) ? 'rgb16' : 'srgb').raw({ depth: isDeep(bitDepth) ? 'ushort' : 'uchar' }),
  );
  const encoded = isDeep(header.bitDepth)
    ? new Uint16Array(data.buffer, data.byteOffset, data.byteLength / 2)
    : new Uint8Array(data.buffer, data.byteOffset, data.byteLength);
  const raw = { width: info.width, height: info.height, channels: info.channels as 1 | 2 | 3 | 4, data: encoded };
  const pixels = profile ? pixelsToSrgb(raw, profile) : raw;
  return { picture: linearise(pixels), castless: castlessPicture(pixels) };
}
