type Command = readonly [string, ...string[]];

export const QUICK_COMMANDS: readonly Command[];
export function campaign(options: {
  /** All of them unless told otherwise. */
  commands?: readonly Command[];
  kills: number;
  rounds: number;
  seed: number;
  /** Kilobytes that are left on the disk, one after another. */
  freeKbs?: readonly number[];
  log?: (line: string) => void;
}): Promise<{ kills: number; faults: string[]; diskTried: boolean }>;
