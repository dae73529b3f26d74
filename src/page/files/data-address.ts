import { InputError } from '../../base/input-error.ts';

/** A picture as an address that holds all of it. @throws InputError if there is no room for it. */
export const dataAddress = (blob: Blob): Promise<string> =>
  new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(reader.result as string);
    reader.onerror = () => reject(new InputError('The browser has no memory left for the picture.'));
    reader.readAsDataURL(blob);
  });
