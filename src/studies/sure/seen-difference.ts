/** Colour differences that just show side by side and that nobody overlooks, ΔE00 (common practice, no published source). */
export const JUST_SHOWS = 1;
export const PLAINLY_SHOWS = 3;
