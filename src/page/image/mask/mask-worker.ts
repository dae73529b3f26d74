import { serveQuestions } from '../../remote/serve.ts';
import { backgroundStrokes } from './background-strokes.ts';
import { maskSaving } from './mask-saving.ts';
import type { MaskQuestions } from './messages.ts';

serveQuestions<MaskQuestions>({
  background: (asks) => ({ gets: backgroundStrokes(asks) }),
  saving: ({ piece, photo }) => ({ gets: maskSaving(piece, photo) }),
});
