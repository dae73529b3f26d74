export interface CoarseGround {
  /** Thickness of the topmost coat over its mean. */
  readonly film: Float32Array;
  /** Height of the unburned surface over the nominal one, µm, and shade of the wood (see `material/wood/ground.ts`). */
  readonly reliefUm: Float32Array;
  readonly shade: Float32Array;
}

/** What a quick look sees before anything burns, at screen size, row-major. */
export interface CoarseScene {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** Lightness of the photo before its tone controls, 0–1, and its coverage. */
  readonly lightness: Float32Array;
  readonly alpha: Float32Array | null;
  readonly ground: CoarseGround;
  /** 0 where nothing burns. */
  readonly mask: Uint8Array;
}

export const burnsAt = ({ mask, alpha }: Pick<CoarseScene, 'mask' | 'alpha'>, i: number): boolean =>
  mask[i] > 0 && (alpha === null || alpha[i] > 0.5);
