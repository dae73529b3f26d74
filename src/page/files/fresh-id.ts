/** Ids that no other tab and no other visit to the page has given. */
export const freshId = (kind: string): string => `${kind}-${Math.random().toString(36).slice(2, 12)}`;
