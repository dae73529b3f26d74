import { LONGEST_LINE } from './plain-comment.ts';

/**
 * Words that lines of the maker's own may hold, after NISTIR 6556 (Kramer, Proctor, Messina, 2000), tables 4 to 7: nothing that moves
 * the head, allows the beam or changes what positions mean. G4 waits, M0 and M1 stop for the maker, M7 to M9 switch coolant, which on
 * these machines is mostly air.
 */
const GROUPS: Readonly<Record<string, string>> = {
  G4: 'wait',
  G61: 'path',
  'G61.1': 'path',
  G64: 'path',
  M0: 'stop',
  M1: 'stop',
  M7: 'air',
  M8: 'air',
  M9: 'air',
  M48: 'overrides',
  M49: 'overrides',
};
const LINES_HINT = 'G4 P… to wait, M7, M8 and M9 for air, M0 and M1 to stop, G61 and G64, M48 and M49';

/** Signs that a byte of a program cannot hold, or that do something at once. */
const STRANGE = /[^\t\x20-\x7e]/gu;

type Parsed = { readonly lines: readonly string[] } | { readonly fault: string };

/** The maker's lines, put together anew from the words that were known in them. @throws Error that names what is wrong. */
export function extraLines(text: string): readonly string[] {
  const parsed = parse(text);
  if ('fault' in parsed) throw new Error(parsed.fault);
  return parsed.lines;
}

/** What is wrong with the maker's lines, as a sentence; null if nothing is. */
export function extraWordsFault(text: string): string | null {
  const parsed = parse(text);
  return 'fault' in parsed ? parsed.fault : null;
}

function parse(text: string): Parsed {
  const lines: string[] = [];
  for (const [i, line] of text.split(/\r?\n|[;|]/).entries()) {
    const read = parseLine(line);
    if ('fault' in read)
      return {
        fault: `line ${i + 1}${line.length <= LONGEST_LINE ? ` "${line.trim().replace(STRANGE, '?')}"` : ''}: ${read.fault}`,
      };
    lines.push(...read.lines);
  }
  return { lines };
}

function parseLine(line: string): Parsed {
  const [strange] = line.match(STRANGE) ?? [];
  if (strange) {
    const code = strange.codePointAt(0)!.toString(16).toUpperCase().padStart(4, '0');
    return { fault: `the sign U+${code} is no plain letter, digit or space; write the line anew by hand` };
  }
  if (/[()]/.test(line)) return { fault: 'comments in brackets may not stand there' };
  const words = (line.toUpperCase().match(/[A-Z]\s*[-+]?\d*\.?\d+|\S+/g) ?? []).map(tidy);
  const seen = new Set<string>();
  for (const word of words) {
    const group = GROUPS[word] ?? (/^P\d*\.?\d+$/.test(word) ? 'seconds' : null);
    if (!group) return { fault: `${word} may not stand there: only ${LINES_HINT} may` };
    if (seen.has(group)) return { fault: 'two words of one kind; write one to a line' };
    seen.add(group);
  }
  if (seen.has('seconds') !== seen.has('wait')) return { fault: 'G4 and P (seconds) belong together' };
  const tidied = words.join(' ');
  if (tidied.length > LONGEST_LINE) return { fault: `longer than ${LONGEST_LINE} letters` };
  return { lines: tidied ? [tidied] : [] };
}

/** `g04` and `G 4` are G4. */
const tidy = (word: string): string => word.replace(/\s+/g, '').replace(/^([A-Z])0+(?=\d)/, '$1');
