import { parseArgs } from 'node:util';
import { fitLines, InputError } from '../base/input-error.ts';
import { type Quantity, shownIn } from '../base/quantity.ts';
import { evenCoat, plainSlab } from '../piece/defaults.ts';
import { fieldOf } from '../piece/fields.ts';
import { type Pass, type Piece, SCREEN_METHODS, type ScreenMethod } from '../piece/schema.ts';

export interface OptionSpec {
  readonly name: string;
  /** Placeholder of the value in the help; none for a switch. */
  readonly value?: string;
  readonly several?: boolean;
  /** Its value names a file that is read: nothing is written over it. */
  readonly reads?: boolean;
  readonly help: string;
}

export type OptionValues = Readonly<Record<string, string | boolean | (string | boolean)[] | undefined>>;

/** @throws UsageError naming the option. */
export function parseOptions(
  argv: readonly string[],
  specs: readonly OptionSpec[],
): { values: OptionValues; rest: string[] } {
  const options = Object.fromEntries(
    specs.map(({ name, value, several }) => [
      name,
      { type: value ? ('string' as const) : ('boolean' as const), multiple: several ?? false },
    ]),
  );
  try {
    const { values, positionals } = parseArgs({ args: [...argv], options, allowPositionals: true, strict: true });
    return { values: values as OptionValues, rest: positionals };
  } catch (error) {
    throw new UsageError(plainly(error as NodeJS.ErrnoException));
  }
}

/** Node's own message in one line, with the way out where a negative number was taken for an option. */
function plainly(error: NodeJS.ErrnoException): string {
  const [first] = error.message.split(/\. |\n/);
  const option = /'(--[\w-]+)/.exec(first)?.[1];
  if (error.code !== 'ERR_PARSE_ARGS_INVALID_OPTION_VALUE' || !option) return first;
  return `${option} needs a value; one that starts with a dash is written ${option}=-1`;
}

/** @throws UsageError if the option is not a number in the range. */
export function numberOption(name: string, text: string, low: number, high: number): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value) || value < low || value > high) {
    throw new UsageError(`${name}: must be a number from ${low} to ${high}, got "${text}"`);
  }
  return value;
}

/** Reads a quantity in the unit that it is shown in. @throws UsageError if the option is not a number in its range. */
export function quantityOption(name: string, text: string, quantity: Quantity): number {
  const { low, high, keep } = shownIn(quantity);
  return keep(numberOption(name, text, low, high));
}

function screenOption(name: string, text: string): ScreenMethod {
  const found = SCREEN_METHODS.find((method) => method === text);
  if (!found) throw new UsageError(`${name}: there is no screen "${text}"; "foreburn screens" lists them`);
  return found;
}

/** How each setting of a pass is written, and what it becomes. */
const PASS_KEYS: Readonly<Record<string, (name: string, text: string) => Partial<Pass>>> = {
  light: (name, text) => ({ lightEndPower: quantityOption(name, text, fieldOf('passes.0.lightEndPower')) }),
  dark: (name, text) => ({ darkEndPower: quantityOption(name, text, fieldOf('passes.0.darkEndPower')) }),
  feed: (name, text) => ({ feedMmPerS: quantityOption(name, text, fieldOf('passes.0.feedMmPerS')) }),
  pitch: (name, text) => ({ rowPitchMm: quantityOption(name, text, fieldOf('passes.0.rowPitchMm')) }),
  heading: (name, text) => ({ headingRad: quantityOption(name, text, fieldOf('passes.0.headingRad')) }),
  focus: (name, text) => ({ focusOffsetMm: quantityOption(name, text, fieldOf('passes.0.focusOffsetMm')) }),
  screen: (name, text) => ({ screen: screenOption(name, text) }),
};

/** Reads `light=90,dark=8,feed=6000`. @throws UsageError. */
export function parsePass(text: string): Partial<Pass> {
  const parts = text.split(',').map((part) => {
    const [key, value] = part.split('=').map((word) => word.trim());
    const read = Object.hasOwn(PASS_KEYS, key) ? PASS_KEYS[key] : undefined;
    if (!read || value === undefined) {
      throw new UsageError(`--pass: "${part}" is not one of ${Object.keys(PASS_KEYS).join(', ')} with =value`);
    }
    return read(`--pass ${key}`, value);
  });
  return Object.assign({}, ...parts);
}

/**
 * The piece with the command line's settings. Feed, row pitch, screen and even power hold for all passes. `--light-end` and `--dark-end` are
 * the first pass; each `--pass` is one more. Without them the `--pass` list is the whole list. A pass takes what it does not
 * set from the one before.
 */
export function applyOptions(piece: Piece, values: OptionValues): Piece {
  const single = (name: string): string | undefined => values[name] as string | undefined;
  const common: Partial<Pass> = {};
  const first: Partial<Pass> = {};
  for (const [option, key, target] of [
    ['feed', 'feed', common],
    ['row-pitch', 'pitch', common],
    ['screen', 'screen', common],
    ['light-end', 'light', first],
    ['dark-end', 'dark', first],
  ] as const) {
    const text = single(option);
    if (text !== undefined) Object.assign(target, PASS_KEYS[key](`--${option}`, text));
  }
  if (values['even-power'] === true) common.evenPower = true;
  const extra = ((values['pass'] as string[] | undefined) ?? []).map(parsePass);
  let passes = piece.passes.map((pass) => ({ ...pass, ...common }));
  if (Object.keys(first).length > 0) passes = [{ ...passes[0], ...first }];
  else if (extra.length > 0) passes = [{ ...passes[0], ...extra.shift() }];
  for (const more of extra) passes.push({ ...passes.at(-1)!, ...more });

  const flat = values['flat-film'] === true;
  const stack = flat ? { ...piece.stack, coats: piece.stack.coats.map(evenCoat) } : piece.stack;
  const slab = flat ? plainSlab(piece.slab) : piece.slab;
  const heat = values['cold'] === true ? { ...piece.heat, carryOver: false } : piece.heat;
  const widthText = single('width-mm');
  const picture = widthText
    ? { ...piece.picture, widthMm: quantityOption('--width-mm', widthText, fieldOf('picture.widthMm')) }
    : piece.picture;
  return { ...piece, passes, stack, slab, heat, picture };
}

/** The call was wrong: exit code 2. */
export class UsageError extends InputError {}

/** The call was right and could not be done: exit code 1. The message names the file and the reason. */
export class CliError extends InputError {
  constructor(message: string) {
    super(message, fitLines);
  }
}
