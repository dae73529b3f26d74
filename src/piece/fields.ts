import * as z from '../base/zod.ts';

/** A number within a range; every way to fail names the whole range. */
export const number = (minimum: number, maximum: number) => {
  const error = `a number from ${minimum} to ${maximum}`;
  return z.number({ error }).check(z.minimum(minimum, { error }), z.maximum(maximum, { error }));
};
export const whole = (minimum: number, maximum: number) => {
  const error = `a whole number from ${minimum} to ${maximum}`;
  return z.int({ error }).check(z.minimum(minimum, { error }), z.maximum(maximum, { error }));
};
export const share = number(0, 1);
export const text = z.string().check(z.maxLength(200));
/** CIE L*a*b* (D65), as an instrument with the mirror reflection included would read it. */
export const lab = z.tuple([number(0, 100), number(-128, 128), number(-128, 128)]);

/**
 * A picture of coarse squares, bytes row by row from the left top corner, base64. What they cover and mean is told where they are
 * used; `piece/tiles.ts` reads and writes them.
 */
export const tilesSchema = z
  .strictObject({
    columns: whole(1, 512),
    rows: whole(1, 512),
    bytes: z.string().check(z.maxLength(360000), z.regex(/^[A-Za-z0-9+/]*={0,2}$/, { error: 'bytes in base64' })),
  })
  .check(
    z.refine(({ columns, rows, bytes }) => bytes.length === 4 * Math.ceil((columns * rows) / 3), {
      error: 'as many bytes as there are columns times rows',
    }),
  );
