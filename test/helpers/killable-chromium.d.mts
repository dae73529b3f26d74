import type { BrowserContext, Page } from 'playwright-core';

export interface Killable {
  readonly context: BrowserContext;
  readonly page: Page;
  /** Ends the browser at once, with all of its processes. */
  kill(): Promise<unknown>;
}
export function launchKillable(executable: string, profile: string): Promise<Killable>;
