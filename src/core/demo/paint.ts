import { writeFileSync } from 'node:fs';
import sharp from 'sharp';
import { encodeSrgbByte } from '../color/srgb.ts';
import { encodePieceFile } from '../piece/file.ts';
import { createDemoPiece, DEMO_PICTURE_FILE } from './demo-piece.ts';
import { renderDemo } from './render.ts';

/** `npm run paint:demo`: renders the demo photograph and writes the demo piece with it inside, as the page opens on it. */
const WIDTH_PX = 1600;
const { luminance, width, height } = renderDemo({ width: WIDTH_PX });
const photo = await sharp(Uint8Array.from(luminance, encodeSrgbByte), { raw: { width, height, channels: 1 } })
  .toColourspace('b-w')
  .jpeg({ quality: 88, mozjpeg: true })
  .toBuffer();
writeFileSync(
  'public/demo/hollin-reach.foreburn',
  encodePieceFile({ piece: createDemoPiece(), images: new Map([[DEMO_PICTURE_FILE, photo]]) }),
);
