import type { QuestionName } from '../questions.ts';
import type { Answerer } from './answer.ts';
import { answerCrop, answerTellingCrop } from './crop.ts';
import { answerPicture, answerPrepared } from './picture.ts';
import { answerProbe } from './probe.ts';
import { answerTones } from './tones.ts';

export const ANSWERERS: { readonly [Name in QuestionName]: Answerer<Name> } = {
  probe: answerProbe,
  picture: answerPicture,
  prepared: answerPrepared,
  crop: answerCrop,
  'telling-crop': answerTellingCrop,
  tones: answerTones,
};
