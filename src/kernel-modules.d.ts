/** What the `?glsl` query of vite.config.ts yields: each top-level function by name, in GLSL, see `build/kernel-glsl.ts`. */
declare module '*?glsl' {
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
