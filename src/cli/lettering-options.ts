import { outlineText } from '../image/letters/outline-text.ts';
import { fieldOf } from '../piece/fields.ts';
import { LETTER_FONTS, type Lettering, type Piece } from '../piece/schema.ts';
import { type OptionSpec, type OptionValues, quantityOption, UsageError } from './options.ts';

export const LETTERING_OPTIONS: readonly OptionSpec[] = [
  {
    name: 'text',
    value: '"WORDS; rim=8"',
    several: true,
    help: `a line of text burned with the picture: along the rim (rim=MM from it, around=DEGREES from its foot) or straight (x=MM, y=MM from the slab’s middle, turn=DEGREES); also caps=MM, spacing=PCT, tone=PCT, font=${LETTER_FONTS.join(' | ')}`,
  },
  {
    name: 'border',
    value: '"rim=6; line=1.5"',
    several: true,
    help: 'a line along the rim (rim=MM from it) or round the picture (picture=MM from it); also tone=PCT',
  },
];

type Keys = ReadonlyMap<string, string>;

/** `a=1; b=2` as keys and values. @throws UsageError for what is neither, or none of those known. */
function keysOf(option: string, parts: readonly string[], known: readonly string[]): Keys {
  return new Map(
    parts.map((part) => {
      const [key, ...value] = part.split('=');
      if (value.length === 0 || !known.includes(key.trim())) {
        throw new UsageError(`--${option}: "${part.trim()}" is not one of ${known.join(', ')} with =value`);
      }
      return [key.trim(), value.join('=').trim()] as const;
    }),
  );
}

const TEXT_KEYS = ['rim', 'around', 'x', 'y', 'turn', 'caps', 'spacing', 'tone', 'font'];

const BORDER_KEYS = ['rim', 'picture', 'line', 'tone'];

/** A number in the unit of its field, or what stands for it where it is left out. */
function read(option: string, keys: Keys, key: string, of: Parameters<typeof fieldOf>[0], usual: number): number {
  const text = keys.get(key);
  return text === undefined ? usual : quantityOption(`--${option} ${key}`, text, fieldOf(of));
}

/** Light on a dark coat; dark on bare wood. */
const toneOf = ({ stack }: Piece): number => (stack.coats.length > 0 ? 1 : 0);

/** The piece with the command line's lettering after its own. @throws UsageError naming the option. */
export async function withLettering(piece: Piece, values: OptionValues): Promise<Piece> {
  const texts = (values['text'] as string[] | undefined) ?? [];
  const borders = (values['border'] as string[] | undefined) ?? [];
  if (texts.length + borders.length === 0) return piece;
  const more = [
    ...(await Promise.all(texts.map((one) => textOf(one, piece)))),
    ...borders.map((one) => borderOf(one, piece)),
  ];
  return { ...piece, picture: { ...piece.picture, lettering: [...piece.picture.lettering, ...more] } };
}

async function textOf(told: string, piece: Piece): Promise<Lettering> {
  const [words, ...parts] = told.split(';');
  const keys = keysOf('text', parts, TEXT_KEYS);
  const font = LETTER_FONTS.find((one) => one === (keys.get('font') ?? LETTER_FONTS[0]));
  if (!font) throw new UsageError(`--text font: must be one of ${LETTER_FONTS.join(', ')}, got "${keys.get('font')}"`);
  const text = words.trim();
  const drawn = await outlineText(text, font).catch((error: Error) => {
    throw new UsageError(`--text: ${error.message}`);
  });
  const number = (key: string, of: Parameters<typeof fieldOf>[0], usual: number) => read('text', keys, key, of, usual);
  const straight = keys.has('x') || keys.has('y') || keys.has('turn');
  if (straight && (keys.has('rim') || keys.has('around'))) {
    throw new UsageError('--text: give a place along the rim (rim, around) or a straight one (x, y, turn), not both');
  }
  return {
    kind: 'text',
    text,
    font,
    ...drawn,
    capMm: number('caps', 'picture.lettering.0.capMm', 8),
    spacing: number('spacing', 'picture.lettering.0.spacing', 0.05),
    tone: number('tone', 'picture.lettering.0.tone', toneOf(piece)),
    place: straight
      ? {
          along: 'line',
          xMm: number('x', 'picture.lettering.0.place.xMm', 0),
          yMm: number('y', 'picture.lettering.0.place.yMm', 0),
          turnRad: number('turn', 'picture.lettering.0.place.turnRad', 0),
        }
      : {
          along: 'rim',
          rimMm: number('rim', 'picture.lettering.0.place.rimMm', 14),
          aroundRad: number('around', 'picture.lettering.0.place.aroundRad', 0),
        },
  };
}

function borderOf(told: string, piece: Piece): Lettering {
  const keys = keysOf('border', told.split(';'), BORDER_KEYS);
  const follows = keys.has('picture') ? 'picture' : 'rim';
  if (keys.has('picture') && keys.has('rim')) throw new UsageError('--border: give rim or picture, not both');
  const number = (key: string, of: Parameters<typeof fieldOf>[0], usual: number) =>
    read('border', keys, key, of, usual);
  return {
    kind: 'border',
    follows,
    distanceMm: number(follows, 'picture.lettering.0.distanceMm', 6),
    lineMm: number('line', 'picture.lettering.0.lineMm', 1.5),
    tone: number('tone', 'picture.lettering.0.tone', toneOf(piece)),
  };
}
