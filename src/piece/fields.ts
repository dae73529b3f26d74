import type { Quantity } from '../base/quantity.ts';
import type * as z from '../base/zod.ts';
import { type Piece, pieceSchema } from './schema.ts';

/** Where the fields of a schema stand in what it describes, each step with a dot before it. */
type PathsIn<Schema> = Schema extends { readonly quantity: Quantity }
  ? ''
  : Schema extends z.ZodMiniObject<infer Shape>
    ? { [Key in keyof Shape & string]: `.${Key}${PathsIn<Shape[Key]>}` }[keyof Shape & string]
    : Schema extends z.ZodMiniArray<infer Item>
      ? `.${number}${PathsIn<Item>}`
      : Schema extends z.ZodMiniTuple<infer Items>
        ? { [Key in keyof Items & `${number}`]: `.${Key}${PathsIn<Items[Key]>}` }[keyof Items & `${number}`]
        : Schema extends z.ZodMiniNullable<infer Inner>
          ? PathsIn<Inner>
          : Schema extends z.ZodMiniDiscriminatedUnion<infer Kinds>
            ? PathsIn<Kinds[number]>
            : never;

/** A field of the piece: `passes.0.lightEndPower`. */
export type FieldPath =
  PathsIn<typeof pieceSchema> extends infer Path ? (Path extends `.${infer Rest}` ? Rest : never) : never;

/** The field's own range, and how it is shown. */
export function fieldOf(path: FieldPath): Quantity {
  const schema: SchemaNode = pieceSchema as unknown as SchemaNode;
  return bare(path.split('.').reduce((at, key) => below(at, key)!, schema)).quantity!;
}

/** What of Zod's schemas is walked through. */
interface SchemaNode {
  readonly quantity?: Quantity;
  readonly def: {
    readonly shape?: Readonly<Record<string, SchemaNode>>;
    readonly element?: SchemaNode;
    readonly items?: readonly SchemaNode[];
    readonly options?: readonly SchemaNode[];
    readonly innerType?: SchemaNode;
  };
}

const bare = (node: SchemaNode): SchemaNode => node.def.innerType ?? node;

function below(node: SchemaNode, key: string): SchemaNode | undefined {
  const { shape, element, items, options } = bare(node).def;
  if (options) return options.map((option) => below(option, key)).find(Boolean);
  return element ?? items?.[Number(key)] ?? shape?.[key];
}

type Branch = { readonly [key: string]: Branch | number };

/** What stands there in the piece; null where the piece has none. */
export function valueAt(piece: Piece, path: FieldPath): number | null {
  let at: unknown = piece;
  for (const key of path.split('.')) at = (at as Branch)[key];
  return at as number | null;
}

/** The piece with another number there. All but what leads there is shared with it. */
export const withValueAt = (piece: Piece, path: FieldPath, value: number): Piece =>
  put(piece, path.split('.'), value) as Piece;

function put(at: unknown, [key, ...rest]: readonly string[], value: number): unknown {
  if (key === undefined) return value;
  const copy = Array.isArray(at) ? [...at] : { ...(at as Branch) };
  (copy as Record<string, unknown>)[key] = put((at as Branch)[key], rest, value);
  return copy;
}
