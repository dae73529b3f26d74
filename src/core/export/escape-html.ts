const ENTITIES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Text as it may stand in HTML, between tags or in an attribute in quotes. */
export const escapeHtml = (text: string): string => text.replace(/[&<>"']/g, (one) => ENTITIES[one]);
