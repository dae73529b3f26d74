import { cut, inMiB, LIMITS } from './input-error.ts';
import * as z from './zod.ts';

/**
 * Makes the error of a kind of document: of the problems, each with its place, or of the one reason why it cannot be read at all.
 * There are `count` problems; of very many only the first are named.
 */
type Refuse = (problems: string[], count: number) => Error;

/**
 * Reads JSON that came in from outside. How large, deep and long it is, is counted before anything is made of it.
 * @throws what `refuse` makes, with where it breaks off or which limit it is over.
 */
export function parseJson(text: string, refuse: Refuse): unknown {
  const over = overLimit(text);
  if (over) throw refuse([over], 1);
  try {
    return JSON.parse(text);
  } catch (error) {
    throw refuse([`its JSON cannot be read (${placeIn(text, (error as Error).message)})`], 1);
  }
}

/**
 * Checks parsed JSON against a schema. @param what the document is called where all of it is wrong, as in `the card`.
 * @throws what `refuse` makes, with every place that is wrong as far as a message holds them.
 */
export function checkDocument<Schema extends z.core.$ZodType>(
  schema: Schema,
  json: unknown,
  what: string,
  refuse: Refuse,
): z.output<Schema> {
  let issues: readonly z.core.$ZodIssue[];
  try {
    const result = z.safeParse(schema, json);
    if (result.success) return result.data;
    issues = result.error.issues;
  } catch (error) {
    // More faults than the library can gather: it spreads them over the stack.
    if (error instanceof RangeError) throw refuse(['nearly everything in it is wrong'], 1);
    throw error;
  }
  throw refuse(
    issues.slice(0, MOST_TOLD).map((issue) => describe(issue, json, what)),
    issues.length,
  );
}
/** Enough to fill any message. */
const MOST_TOLD = 30;

function overLimit(text: string): string | null {
  if (text.length > LIMITS.documentBytes) return `it is larger than ${inMiB(LIMITS.documentBytes)}`;
  const lengths = [0];
  let values = 0;
  for (let at = 0; at < text.length; at++) {
    switch (text.charCodeAt(at)) {
      case QUOTE:
        for (at++; at < text.length && text.charCodeAt(at) !== QUOTE; at++) if (text.charCodeAt(at) === BACKSLASH) at++;
        break;
      case OPEN_LIST:
      case OPEN_OBJECT:
        if (lengths.push(0) > LIMITS.nesting + 1) return `it is nested deeper than ${LIMITS.nesting} levels`;
        values++;
        break;
      case CLOSE_LIST:
      case CLOSE_OBJECT:
        if (lengths.length > 1) lengths.pop();
        break;
      case COMMA:
        if (++lengths[lengths.length - 1] >= LIMITS.listLength) {
          return `it holds a list of more than ${LIMITS.listLength} entries`;
        }
        values++;
        break;
    }
    if (values > LIMITS.values) return `it holds more than ${LIMITS.values} values`;
  }
  return null;
}
const [QUOTE, BACKSLASH, OPEN_LIST, CLOSE_LIST, OPEN_OBJECT, CLOSE_OBJECT, COMMA] = Array.from('"\\[]{},', (sign) =>
  sign.charCodeAt(0),
);

/** Engines say where they stopped in words of their own. */
function placeIn(text: string, said: string): string {
  const offset = /position (\d+)/.exec(said)?.[1];
  if (offset !== undefined && Number(offset) < text.length) {
    const lines = text.slice(0, Number(offset)).split('\n');
    return `line ${lines.length}, character ${lines[lines.length - 1].length + 1}`;
  }
  const [, line, column] = /line (\d+) column (\d+)/.exec(said) ?? [];
  return line === undefined ? 'it breaks off before its end' : `line ${line}, character ${column}`;
}

function describe(issue: z.core.$ZodIssue, root: unknown, what: string): string {
  const place = issue.path
    .map((key, i) => (typeof key === 'number' ? `[${key}]` : i === 0 ? key : `.${String(key)}`))
    .join('');
  const got = show(issue.path.reduce<unknown>((value, key) => asRecord(value)[key as string], root));
  const at = place || what;
  switch (issue.code) {
    case 'unrecognized_keys':
      return `${at}: unknown field ${unknownKeys(issue.keys)}; remove it or check its spelling`;
    case 'invalid_value':
      return `${at}: must be ${issue.values.map((value) => JSON.stringify(value)).join(' or ')}, got ${got}`;
    case 'invalid_union':
      return `${at}: has a kind that is not known, got ${got}`;
    case 'too_big':
      if (issue.origin === 'array') return `${at}: must have at most ${issue.maximum} entries`;
      if (issue.origin === 'string') return `${at}: must be at most ${issue.maximum} characters long`;
      return `${at}: must be ${issue.message}, got ${got}`;
    case 'too_small':
      if (issue.origin === 'array') return `${at}: must have at least ${issue.minimum} entry`;
      if (issue.origin === 'string') return `${at}: must be at least ${issue.minimum} character long`;
      return `${at}: must be ${issue.message}, got ${got}`;
    case 'invalid_type':
      return `${at}: must be ${/^a /.test(issue.message) ? issue.message : `of type ${issue.expected}`}, got ${got}`;
    default:
      return `${at}: must be ${issue.message}, got ${got}`;
  }
}

function unknownKeys(keys: readonly string[]): string {
  const named = keys.slice(0, 3).map((key) => `"${cut(key, 40)}"`);
  return named.join(', ') + (keys.length > 3 ? ` and ${keys.length - 3} more` : '');
}

const asRecord = (value: unknown): Record<string, unknown> =>
  typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};

/** A value as it is quoted: its beginning at most, without looking at all of it. */
export function show(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (typeof value === 'string') return JSON.stringify(cut(value, 37));
  if (Array.isArray(value)) return value.length === 0 ? '[]' : `a list of ${value.length}`;
  if (typeof value === 'object' && value !== null) return Object.keys(value).length === 0 ? '{}' : 'an object';
  return String(value);
}
