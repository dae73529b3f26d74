import { BARGE_BODIES } from './barge.ts';
import type { Body } from './body.ts';
import { COTTAGE_BODY } from './cottage.ts';
import { LIGHTHOUSE } from './lighthouse.ts';
import { ROCK_BODIES } from './rocks.ts';
import { GORSE, LAND } from './shore.ts';
import { STAGE } from './stage.ts';

/**
 * "Hollin Reach", a ferry landing that does not exist: what stands in it. Metres; x right, y up, z away from the camera, the
 * water at y = 0. Sky, water and rope are no bodies: see `sky.ts`, `water.ts` and `rigging.ts`.
 */
export const SCENE: readonly Body[] = [
  ...LAND,
  COTTAGE_BODY,
  LIGHTHOUSE,
  STAGE,
  ...ROCK_BODIES,
  ...BARGE_BODIES,
  ...GORSE,
  // Near ones first: what they hide need not be looked at.
].sort((a, b) => a.high[2] - b.high[2]);

/** The camera stands at x = z = 0; the lens is shifted instead of tilted, so that uprights stay upright. */
export const CAMERA = { height: 3.2, halfWidth: 0.42, horizon: -0.06 } as const;
