import { type StripQuestions, stripAnswerers } from '../../../burn/runner.ts';
import { serveQuestions } from '../../remote/serve.ts';

serveQuestions<StripQuestions>(stripAnswerers());
