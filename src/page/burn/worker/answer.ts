import type { Answerer as AnswererOf } from '../../../base/remote/answers.ts';
import type { QuestionName, Questions } from './questions.ts';

/** What answers a question of the page's. */
export type Answerer<Name extends QuestionName> = AnswererOf<Questions, Name>;
