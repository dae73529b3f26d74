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

/** Lines with anything in them. */
export const extraLines = (text: string): string[] =>
  text
    .split(/[\n;|]/)
    .map((line) => line.trim().toUpperCase())
    .filter(Boolean);

/** What is wrong with the maker's lines, as a sentence; null if nothing is. */
export function extraWordsFault(text: string): string | null {
  for (const line of extraLines(text)) {
    const words = line.match(/[A-Z]\s*[-+]?\d*\.?\d+|\S+/g) ?? [];
    const seen = new Set<string>();
    for (const word of words.map(tidy)) {
      const group = GROUPS[word] ?? (/^P\d*\.?\d+$/.test(word) ? 'seconds' : null);
      if (!group) return `"${word}" may not stand there: only ${LINES_HINT} may`;
      if (seen.has(group)) return `"${line}" says two things of one kind; write one to a line`;
      seen.add(group);
    }
    if (seen.has('seconds') !== seen.has('wait')) return `"${line}": G4 and P (seconds) belong together`;
  }
  return null;
}

/** `g04` and `G 4` are G4. */
const tidy = (word: string): string => word.replace(/\s+/g, '').replace(/^([A-Z])0+(?=\d)/, '$1');
