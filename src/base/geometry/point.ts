/** A point (x, y), x to the right and y downwards; in mm or in photo pixels, as the text beside it says. */
export type Point = readonly [number, number];

/**
 * A closed outline: the last point joins the first, which is not repeated. Wherever this folder returns one it runs clockwise
 * as seen (right, down, left, up), so that the slab lies to the right of every edge.
 */
export type Polygon = readonly Point[];
