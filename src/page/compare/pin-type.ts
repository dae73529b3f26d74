/** What is dragged along the strip, for those that take only files. */
export const PIN_TYPE = 'application/x-foreburn-pin';
