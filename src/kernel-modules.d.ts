/** What the `?kernel` query of vite.config.ts yields: the plain JavaScript source of each top-level function by name. */
declare module '*?kernel' {
  const sources: Readonly<Record<string, string>>;
  export default sources;
}
