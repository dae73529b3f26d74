/** Longest line of a program. Common practice, no published source: small controllers keep little more of a line. */
export const LONGEST_LINE = 80;

/**
 * What may stand between the brackets of a comment: accents and signs go, because some controllers act upon a sign at once wherever it
 * stands (common practice, no published source), and what is too long is cut off.
 */
export function plainComment(text: string): string {
  return text
    .normalize('NFKD')
    .replace(/\p{M}+/gu, '')
    .replace(/\s+/g, ' ')
    .replace(/[^A-Za-z0-9 .,:+/-]+/g, '-')
    .slice(0, LONGEST_LINE - 2)
    .trim();
}
