#!/usr/bin/env node
import { run } from './run.ts';

process.exitCode = await run(process.argv.slice(2), {
  out: (text) => void process.stdout.write(text),
  error: (text) => void process.stderr.write(text),
  terminal: process.stderr.isTTY === true,
  now: () => performance.now(),
  today: () => Date.now(),
});
