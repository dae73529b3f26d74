import type { Answerers } from '../../../base/remote/answers.ts';
import { answerAgain } from './again.ts';
import { answerBands } from './bands.ts';
import { answerBurnCourse, answerPause } from './burn-course.ts';
import { answerBurnedCorners } from './burned-corners.ts';
import { answerBurnedReading } from './burned-reading.ts';
import { answerChoose } from './choose.ts';
import { answerCrop, answerTellingCrop } from './crop.ts';
import { answerForget, answerForgetPhoto, answerPhoto } from './keep.ts';
import { answerLikelyEnds } from './likely-ends.ts';
import { answerMachineFile } from './machine-file.ts';
import { answerLadder, answerOptionSeconds } from './paper.ts';
import { answerPicture, answerPrepared } from './picture.ts';
import { answerPictureSheet } from './picture-sheet.ts';
import { answerProbe } from './probe.ts';
import { answerProof } from './proof.ts';
import type { Questions } from './questions.ts';
import { answerRescue } from './rescue.ts';
import { answerTakeUp } from './take-up.ts';
import { answerStripLesson, answerTestStrip } from './test-strip.ts';
import { answerTones } from './tones.ts';

export const ANSWERERS: Answerers<Questions> = {
  photo: answerPhoto,
  proof: answerProof,
  forget: answerForget,
  'forget-photo': answerForgetPhoto,
  probe: answerProbe,
  'likely-ends': answerLikelyEnds,
  'burn-course': answerBurnCourse,
  pause: answerPause,
  'take-up': answerTakeUp,
  picture: answerPicture,
  prepared: answerPrepared,
  crop: answerCrop,
  'telling-crop': answerTellingCrop,
  again: answerAgain,
  'picture-sheet': answerPictureSheet,
  bands: answerBands,
  ladder: answerLadder,
  'option-seconds': answerOptionSeconds,
  'machine-file': answerMachineFile,
  choose: answerChoose,
  rescue: answerRescue,
  'burned-corners': answerBurnedCorners,
  'burned-reading': answerBurnedReading,
  'test-strip': answerTestStrip,
  'strip-lesson': answerStripLesson,
  tones: answerTones,
};
