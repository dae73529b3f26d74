import { serveQuestions } from '../remote/serve.ts';
import { ANSWERERS } from './answers/all.ts';
import type { Questions } from './questions.ts';

serveQuestions<Questions>(ANSWERERS);
