import { config } from 'zod/mini';

// Else it tries to build functions from text when the first schema is made, which the page's policy forbids and reports.
config({ jitless: true });

export * from 'zod/mini';
