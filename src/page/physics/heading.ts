import { degToRad, radToDeg } from '../../base/units.ts';

/** Heading of a crack on screen, whole degrees counter-clockwise; half a turn tells all. The piece turns clockwise (y downwards). */
export const shownHeading = (headingRad: number): number => (180 - (Math.round(radToDeg(headingRad)) % 180)) % 180;

export const headingFrom = (shownDeg: number): number => degToRad((180 - (shownDeg % 180)) % 180);
