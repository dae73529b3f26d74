/** Prepared lightness (0–1) from which a part of the picture counts as light: there a dark-over-light stack is meant to be open. */
export const LIGHT_AREA_LIGHTNESS = 0.9;
/**
 * Mean residue of the topmost coat in µm above which a cell counts as uncleared. One µm of a dark film over white costs about 16
 * L* (computed from Kubelka–Munk and Saunderson, see test/reference/appearance.test.ts): anyone sees it.
 */
export const CLEARED_RESIDUE_UM = 1;
/** Level of discolouration, 0–1, from which a cell counts as scorched. */
export const SCORCHED_LEVEL = 0.05;
/** Mean depth in wood in µm from which a cell counts as burned through. */
export const THROUGH_UM = 0.5;
/** Light areas with a smaller uncleared share than this count as cleared. */
export const CLEARED_SHARE = 0.05;
/** A picture with a smaller scorched share than this counts as not scorched. */
export const SCORCHED_SHARE = 0.005;
