import type { Answerer } from './answer.ts';
import { drawSheet } from './draw-sheet.ts';

export const answerPictureSheet: Answerer<'picture-sheet'> = async (sheet, asker) => {
  const png = await drawSheet(sheet, asker);
  return { gets: png, transfer: [png.buffer as ArrayBuffer] };
};
