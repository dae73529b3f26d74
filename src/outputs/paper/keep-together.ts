/** Keeps a number and its percent sign on one line, as typography has it (Unicode, UAX #14: U+00A0 does not break). */
export const keepTogether = (text: string): string => text.replace(/(\d) %/g, '$1\u00a0%');
