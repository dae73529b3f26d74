const NAMED: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

/** Text as it stands in HTML and XML, in elements and in quoted attributes; what neither may hold becomes a box. */
export const escapeHtml = (text: string): string =>
  text
    // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are just what is looked for
    .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '\ufffd')
    .replace(/[&<>"']/g, (char) => NAMED[char]);
