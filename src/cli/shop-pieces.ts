import { readdir, stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { Photo } from '../burn/prepare.ts';
import type { Piece } from '../piece/schema.ts';
import { isPieceFile } from './batch-list.ts';
import { heldPhoto } from './open-job.ts';
import { CliError, UsageError } from './options.ts';
import { readPieceFile } from './read-files.ts';

/** A piece of the shop. Its photograph is read whenever it is asked for, so that many take no more memory than one. */
export interface ShopPiece {
  readonly path: string;
  readonly piece: Piece;
  readonly photo: () => Promise<Photo>;
}

/** What stands for the pieces in the help. */
export const PIECES_OPERAND = 'FOLDER|PIECE…';

/** The pieces that are named, and those in folders that are, with all folders in them. @throws UsageError, CliError */
export async function readShopPieces(command: string, operands: readonly string[]): Promise<ShopPiece[]> {
  if (operands.length === 0) throw new UsageError(`${command}: name .foreburn files, or a folder of them`);
  const paths = (await Promise.all(operands.map(piecesAt))).flat();
  const pieces: ShopPiece[] = [];
  for (const path of paths) {
    const { piece } = await readPieceFile(path);
    pieces.push({
      path,
      piece,
      photo: async () => ({ key: 'photo', ...(await heldPhoto(path, await readPieceFile(path))) }),
    });
  }
  return pieces;
}

async function piecesAt(path: string): Promise<string[]> {
  const found = await stat(path).catch(() => null);
  if (!found?.isDirectory()) return [path];
  const names = (await readdir(path, { recursive: true, encoding: 'utf8' })).filter(isPieceFile).sort();
  if (names.length === 0) throw new CliError(`${path}: there is no .foreburn file in this folder`);
  return names.map((name) => join(path, name));
}
