/** What light meets on a body: filled in by `Body.paint`. */
export interface Surface {
  /** Share of light thrown back in all directions, 0–1. */
  albedo: number;
  /** Strength of the highlight, 0–1, and how narrow it is (Blinn–Phong exponent). */
  gloss: number;
  sharpness: number;
  /** Share of light from behind that comes through, 0–1: cloth. */
  through: number;
}

/** One thing in the scene: a distance function inside a box that nothing of it leaves. Metres; x right, y up, z away. */
export interface Body {
  readonly low: readonly [number, number, number];
  readonly high: readonly [number, number, number];
  /** Distance or less; what it returns is stepped as it is. */
  readonly distance: (x: number, y: number, z: number) => number;
  /** Small relief in metres that shows in the light but not in the outline. */
  readonly relief?: (x: number, y: number, z: number) => number;
  /** Describes the surface at a point with normal (nx, ny, nz). */
  readonly paint: (surface: Surface, x: number, y: number, z: number, nx: number, ny: number, nz: number) => void;
}
