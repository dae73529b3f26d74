import { InputError } from '../../src/base/input-error.ts';
import type { Case, Format } from './format.ts';

/** Words that engines and libraries say, which help no maker. */
const ENGINE =
  /Invalid (array|string|typed array) length|call stack|Cannot (read|convert|destructure|mix)|is not (a function|iterable|defined|an object)|undefined|Unexpected (token|end)|in JSON at|JSON\.parse|out of (memory|bounds)|\[object |vips|libspng|Input (buffer|file)|offset is out|Offset is out|\bat .*\.[jt]s:\d|ERR_|Error:/i;
const LONGEST = 400;

/** Reads one case. @returns what is wrong with the answer; null if it is right. */
export async function judge(format: Format, { bytes, mustRefuse }: Case): Promise<string | null> {
  try {
    const { told, again, messages = [] } = await format.take(bytes);
    if (mustRefuse) return 'taken though it is not what was written';
    if (again && again() !== told) return 'not the same once it is written and read anew';
    for (const message of messages) {
      const fault = faultOf(message);
      if (fault) return fault;
    }
    return null;
  } catch (error) {
    if (!(error instanceof InputError || error instanceof RangeError)) return `not an answer: ${String(error)}`;
    return faultOf(error.message);
  }
}

function faultOf(message: string): string | null {
  const engine = ENGINE.exec(message.replace(/"[^"]*"|“[^”]*”/g, ''));
  if (engine) return `an engine’s words (${engine[0]}): ${message.slice(0, 200)}`;
  if (message.length > LONGEST) return `${message.length} characters: ${message.slice(0, 200)}`;
  if (!/[a-z]{2} .*[a-z]{2}/i.test(message)) return `no sentence: ${message}`;
  return null;
}
