import type { TestProject } from 'vitest/node';
import { serveSources } from './serve.ts';

/** Run once before the browser tests: serves the sources to all of them. */
export default async function serveSourcesToAll({ provide }: TestProject): Promise<() => Promise<void>> {
  const served = await serveSources();
  provide('sources', served.url);
  return () => served.close();
}
