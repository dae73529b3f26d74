/**
 * One pass over one swath of fine cells. All planes are row-major; sizes are given because a plane may be wider or narrower than
 * the output. Units and meaning as in `burn.kernel.ts`.
 */
export interface Plane {
  readonly width: number;
  readonly height: number;
  readonly data: Float32Array;
}

export interface BurnPassInput {
  /** Fine cells of the swath. */
  readonly width: number;
  readonly height: number;
  /** Depth removed before this pass, µm, and dose past the topmost coat before it, J/mm². */
  readonly depthUm: Float32Array;
  readonly excess: Float32Array;
  readonly exposure: Plane;
  readonly weights: Plane;
  readonly thicknessUm: Plane;
  /** Four planes of `thicknessRows` rows each, see `burn.kernel.ts`. */
  readonly ground: Plane;
  readonly layers: Plane;
  readonly coats: number;
  readonly thicknessRows: number;
  readonly subX: number;
  readonly subY: number;
  /** How the fine cells of a column are staggered along x, see `burn.kernel.ts`; 0: in line. */
  readonly stride: number;
  /** Parts of a row pitch in which `weights` is tabulated. */
  readonly phases: number;
  readonly place: RasterPlace;
  /** Memory that the results may be put into; new where it is left out. */
  readonly into?: BurnPassOutput;
}

/** Where a fine cell that is not staggered lies in the exposure plane: row = rowOrigin + rowPerX·x + rowPerY·y, columns likewise. */
export interface RasterPlace {
  readonly rowOrigin: number;
  readonly rowPerX: number;
  readonly rowPerY: number;
  readonly columnOrigin: number;
  readonly columnPerX: number;
  readonly columnPerY: number;
}

export interface BurnPassOutput {
  readonly depthUm: Float32Array;
  readonly excess: Float32Array;
}

/** One pass over one swath. */
export type BurnPass = (input: BurnPassInput) => BurnPassOutput;
