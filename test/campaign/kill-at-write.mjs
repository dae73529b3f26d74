/**
 * Loaded before the command line (`node --import`): ends the process as a power cut would, at the write that FOREBURN_KILL_AT counts to.
 * A write of bytes is cut in the middle. Without the variable nothing is killed, and the number of writes goes to the file that
 * FOREBURN_COUNT_TO names.
 */
import fs from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';

const at = Number(process.env.FOREBURN_KILL_AT ?? Number.NaN);
let count = 0;

const die = () => process.kill(process.pid, 'SIGKILL');

function before(object, name) {
  const original = object[name];
  object[name] = function (...args) {
    count++;
    if (count === at) die();
    return original.apply(this, args);
  };
}

/** Half of the bytes get there. */
function halfway(object, name) {
  const original = object[name];
  object[name] = async function (data, ...rest) {
    count++;
    if (count === at) {
      const bytes = Buffer.from(data);
      await original.call(this, bytes.subarray(0, bytes.length >> 1), ...rest);
      die();
    }
    return original.call(this, data, ...rest);
  };
}

const handle = await fs.promises.open(new URL(import.meta.url));
halfway(Object.getPrototypeOf(handle), 'writeFile');
before(Object.getPrototypeOf(handle), 'sync');
await handle.close();
for (const name of ['open', 'writeFile', 'rename', 'rm', 'rmdir', 'mkdir', 'chmod']) before(fs.promises, name);
syncBuiltinESMExports();

const { FOREBURN_COUNT_TO } = process.env;
if (FOREBURN_COUNT_TO) process.on('exit', () => fs.writeFileSync(FOREBURN_COUNT_TO, String(count)));
