import { serveQuestions } from '../../remote/serve.ts';
import { ANSWERERS } from './answers.ts';
import type { Questions } from './questions.ts';

serveQuestions<Questions>(ANSWERERS);
