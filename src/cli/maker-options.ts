import sharp from 'sharp';
import { LIMITS } from '../base/input-error.ts';
import { MARK_PX, type Maker } from '../base/maker.ts';
import { inspectPicture, PAGE_FORMATS } from '../image/inspect.ts';
import type { Piece } from '../piece/schema.ts';
import { CliError, type OptionSpec, type OptionValues } from './options.ts';
import { naming, readBytes } from './read-files.ts';

export const MAKER_OPTIONS: readonly OptionSpec[] = [
  { name: 'workshop', value: 'NAME', help: 'your name as it is printed (default: the piece’s)' },
  { name: 'mark', value: 'FILE', help: 'your mark, printed with it: PNG, JPEG or WebP' },
];

/** Who is printed as the maker. Asked before anything is computed. @throws CliError naming the file and the reason. */
export async function makerOption({ quote }: Pick<Piece, 'quote'>, values: OptionValues): Promise<Maker> {
  const name = ((values['workshop'] as string | undefined) ?? quote.workshop).slice(0, 200);
  const path = values['mark'] as string | undefined;
  return { name, mark: path === undefined ? null : await readMark(path) };
}

async function readMark(path: string): Promise<string> {
  const bytes = await readBytes(path, LIMITS.pictureBytes);
  naming(path, () => inspectPicture(bytes, PAGE_FORMATS));
  try {
    const png = await sharp(bytes)
      .rotate()
      .resize({ ...MARK_PX, fit: 'inside', withoutEnlargement: true })
      .toColourspace('srgb')
      .png()
      .toBuffer();
    return `data:image/png;base64,${png.toString('base64')}`;
  } catch (error) {
    throw new CliError(`${path}: it cannot be decoded (${(error as Error).message}); save it anew as a PNG`);
  }
}
