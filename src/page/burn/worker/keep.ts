import type { Photo } from '../../../burn/prepare.ts';
import type { Answerer } from './answer.ts';
import { decodePhoto } from './decode-photo.ts';
import { photos, proofs } from './desk.ts';

export const answerPhoto: Answerer<'photo'> = async ({ key, bytes }) => {
  const decoding = decodePhoto(bytes).then((decoded): Photo => ({ key, ...decoded }));
  photos.set(key, decoding);
  try {
    const { width, height } = (await decoding).picture;
    return { gets: { width, height } };
  } catch (error) {
    photos.delete(key);
    throw error;
  }
};

export const answerForget: Answerer<'forget'> = ({ id }) => {
  proofs.delete(id);
  return { gets: null };
};

export const answerForgetPhoto: Answerer<'forget-photo'> = ({ key }) => {
  photos.delete(key);
  return { gets: null };
};
