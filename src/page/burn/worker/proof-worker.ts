import { serveQuestions } from '../../remote/serve.ts';
import { ANSWERERS } from './all.ts';
import type { Questions } from './questions.ts';

serveQuestions<Questions>(ANSWERERS);
