import { type SwathQuestions, swathAnswerers } from '../../../burn/runner.ts';
import { serveQuestions } from '../../remote/serve.ts';

serveQuestions<SwathQuestions>(swathAnswerers());
