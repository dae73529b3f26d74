/**
 * How much is taken in from outside: stated before anything is decoded, the same on the page and on the command line. What is beyond
 * is refused with a sentence. README.md and DEVELOPERS.md repeat the numbers that matter to people.
 */
const MIB = 1 << 20;
export const LIMITS = {
  /** A photograph as it is stored: pixels, and bytes of its file. A burn shows at most some twelve dots per millimetre. */
  pixels: 64e6,
  pictureBytes: 256 * MIB,
  /** A piece with its pictures, packed and unpacked alike. */
  pieceBytes: 256 * MIB,
  /** Files in a piece, and letters of one's name with its folder. */
  zipEntries: 1000,
  pathLength: 255,
  /** JSON: piece, card, reading, shelf. `values` counts lists, objects, numbers and words together. */
  documentBytes: 32 * MIB,
  nesting: 64,
  listLength: 10_000,
  values: 1_000_000,
  /** An outline drawn elsewhere: bytes of its text, points once its curves are straight pieces, and how far out one may lie, mm. */
  drawingBytes: 8 * MIB,
  outlinePoints: 10_000,
  drawingReachMm: 100_000,
  /** Characters of a message to the maker, and of what it quotes. */
  message: 300,
  quoted: 60,
} as const;

/** A number of bytes as it is said. */
export const inMiB = (bytes: number): string => `${bytes / MIB} MiB`;
