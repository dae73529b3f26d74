import { Worker } from 'node:worker_threads';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createDice } from './dice.ts';
import { FORMATS } from './formats/all.ts';
import { judge } from './judge.ts';

const SEED = 1;
const CASES = 100;
/** An answer that takes so long is none: whoever waits for it has to be stopped from outside. */
const HANGS_MS = 60_000;

/** Ends the process, naming the case, once a case takes far too long: nothing inside it could. */
const WATCH = `
const { parentPort, workerData } = require('node:worker_threads');

let timer;
parentPort.on('message', (name) => {
  clearTimeout(timer);
  if (name !== '') timer = setTimeout(() => {
    require('node:fs').writeSync(2, 'no answer: ' + name + '\\n');
    process.kill(process.pid, 'SIGKILL');
  }, workerData);
});`;
let watch: Worker;
beforeAll(() => {
  watch = new Worker(WATCH, { eval: true, workerData: HANGS_MS });
});
afterAll(async () => {
  await watch.terminate();
});

describe('whatever comes in is answered: taken as it is, or refused with a sentence', () => {
  test.each(Object.entries(FORMATS))('%s', async (name, format) => {
    const wrong: string[] = [];
    for (let i = 0; i < CASES; i++) {
      watch.postMessage(`${name}, seed ${SEED}, case ${i}`);
      const fault = await judge(format, await format.make(createDice(name, SEED, i)));
      if (fault) wrong.push(`case ${i}: ${fault}`);
    }
    watch.postMessage('');
    expect(wrong).toEqual([]);
  });
});
