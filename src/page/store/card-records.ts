import * as z from '../../base/zod.ts';
import { lab } from '../../piece/fields.ts';
import { cardSchema } from '../../vision/card/card.ts';

const keptCardSchema = z.object({ card: cardSchema, date: z.string() });
/** A card that was saved to be burned, with the day. */
export type KeptCard = z.infer<typeof keptCardSchema>;
/** With when it was kept, so that the oldest makes room. */
export type CardRecord = KeptCard & { readonly keptAt: number };

const drawingSchema = z.object({
  name: z.string(),
  card: cardSchema,
  looks: z.object({
    paint: lab,
    bare: lab,
    marks: lab,
    patches: z.record(z.string(), lab),
    lines: z.record(z.string(), z.object({ edgeMm: z.number(), equivalentMm: z.number() })),
  }),
});
/** How a card came out, to be drawn again, and the name it is kept by. */
export type NamedDrawing = z.infer<typeof drawingSchema>;
export type CardDrawing = Omit<NamedDrawing, 'name'>;
export type DrawingRecord = NamedDrawing & { readonly keptAt: number };

/** Null for what cannot be read. */
export const readCard = (value: unknown): KeptCard | null => keptCardSchema.safeParse(value).data ?? null;
export const readDrawing = (value: unknown): NamedDrawing | null => drawingSchema.safeParse(value).data ?? null;
