import type { PlacedBox } from '../../../physics/bed/placed-box.ts';

type Corner = readonly [number, number];

/** The picture while it is placed by hand; mm from the slab's centre, y growing towards the viewer. */
export interface Placing {
  readonly box: PlacedBox;
  readonly crop: 'rectangle' | 'oval';
  /** Closed edges of what a face should be kept off: drawn over the picture. */
  readonly flaws: readonly (readonly Corner[])[];
  /** The picture itself, half transparent, while nothing better shows where it lies. The caller's, open as long as it is given. */
  readonly ghost: ImageBitmap | null;
  /** What is told of the place to those who do not see it. */
  readonly words: string;
  /** A drag begins; everything up to `onRelease` belongs together. Keys change the box without it. */
  onGrab(): void;
  onChange(box: PlacedBox): void;
  onRelease(): void;
  /** Escape. */
  onDone(): void;
}
