export function campaign(options: {
  kills: number;
  rounds: number;
  seed: number;
  /** Kilobytes that are left on the disk, one after another. */
  freeKbs?: readonly number[];
  log?: (line: string) => void;
}): Promise<{ kills: number; faults: string[]; diskTried: boolean }>;
