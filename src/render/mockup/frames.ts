/** Frames of a clip a second. */
export const FRAMES_PER_S = 30;
