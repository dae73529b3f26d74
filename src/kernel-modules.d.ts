/** What the `?wgsl` query of vite.config.ts yields: each top-level function by name, in WGSL, see `build/kernel-wgsl.ts`. */
declare module '*?wgsl' {
  const sources: Readonly<Record<string, string>>;
  export default sources;
}

/** What the `?bundle` query yields: a whole program as the text of one script. */
declare module '*?bundle' {
  const program: string;
  export default program;
}

/** What Vite's `?inline` yields of a font: a data address. */
declare module '*.woff?inline' {
  const address: string;
  export default address;
}

/** As much of the library as is used; it brings no types. */
declare module 'opentype.js' {
  export interface PathCommand {
    readonly type: 'M' | 'L' | 'C' | 'Q' | 'Z';
    readonly x: number;
    readonly y: number;
    readonly x1: number;
    readonly y1: number;
    readonly x2: number;
    readonly y2: number;
  }
  export interface Glyph {
    readonly index: number;
    readonly advanceWidth: number;
    readonly path: { readonly commands: readonly PathCommand[] };
  }
  export interface Font {
    readonly unitsPerEm: number;
    readonly tables: { readonly os2?: { readonly sCapHeight?: number } };
    charToGlyph(char: string): Glyph;
    charToGlyphIndex(char: string): number;
    getKerningValue(left: Glyph, right: Glyph): number;
  }
  export function parse(bytes: ArrayBuffer): Font;
}

/** As much of the library as is used; its own types want Node's. */
declare module 'utif2' {
  type Directory = Record<string, ArrayLike<number> | undefined>;
  export function decode(bytes: ArrayBuffer): Directory[];
  export function decodeImage(bytes: ArrayBuffer, directory: Directory): void;
}
