import { checkMachineJob } from '../helpers/check-machine-job.ts';

/**
 * `npm run campaign:jobs -- --jobs N --seed S`: programs of N random jobs, each held against an interpreter that shares no code, the
 * verifier and the dots that were screened. Ends with 1 if a job has a fault.
 */
const option = (name: string, otherwise: number): number => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? otherwise : Number(process.argv[at + 1]);
};
const jobs = option('jobs', 1000);
const first = option('seed', 1);
const made = new Map<string, number>();
let bad = 0;
for (let seed = first; seed < first + jobs; seed++) {
  const checked = await checkMachineJob(seed, true).catch((error: Error) => ({
    kind: 'none',
    faults: [error.message],
  }));
  const kind = checked?.kind ?? 'refused for good';
  made.set(kind, (made.get(kind) ?? 0) + 1);
  if (!checked || checked.faults.length === 0) continue;
  bad++;
  console.log(`job ${seed} (${kind}): ${checked.faults[0]} (${checked.faults.length} in all)`);
}
console.log(
  `${jobs} jobs from seed ${first}: ${[...made].map(([kind, count]) => `${kind} ${count}`).join(', ')}; ${bad} with faults`,
);
process.exitCode = bad > 0 ? 1 : 0;
