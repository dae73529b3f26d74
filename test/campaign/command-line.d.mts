export function campaign(options: {
  kills: number;
  rounds: number;
  seed: number;
  log?: (line: string) => void;
}): Promise<{ kills: number; faults: string[]; diskTried: boolean }>;
