/** What the `?kernel` query of vite.config.ts yields: the plain JavaScript source of each top-level function by name. */
declare module '*?kernel' {
  const sources: Readonly<Record<string, string>>;
  export default sources;
}

/** What the `?glsl` query yields: the same functions in GLSL, see `build/kernel-glsl.ts`. */
declare module '*?glsl' {
  const sources: Readonly<Record<string, string>>;
  export default sources;
}

/** What the `?bundle` query yields: a whole program as the text of one script. */
declare module '*?bundle' {
  const program: string;
  export default program;
}
