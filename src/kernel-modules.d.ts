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
