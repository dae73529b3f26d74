import type { Asker } from '../../../base/remote/remote.ts';
import { encodeGlb } from '../../../outputs/model/glb.ts';
import { type EncodePicture, slabModel } from '../../../outputs/model/slab-model.ts';
import { encodeUsdz } from '../../../outputs/model/usdz.ts';
import type { SlabShape } from '../../../render/mesh/outline.ts';
import { clientFile } from '../../../render/mockup/client-file.ts';
import { drawBurnClip, drawClip } from '../../../render/mockup/clip.ts';
import { slopePicture } from '../../../render/mockup/face-slopes.ts';
import type { FaceLook } from '../../../render/mockup/mockup-scene.ts';
import { type DrawHooks, drawStill, type Shot } from '../../../render/mockup/still.ts';
import clientProgram from '../../../render/mockup/viewer.ts?bundle';
import { drawFace, type FaceMap, MOST_WOOD_PX, packedRelief, placeWood } from '../../../render/model/face-map.ts';
import { type SlabParts, slabParts } from '../../../render/model/slab-parts.ts';
import { serveQuestions } from '../../remote/serve.ts';
import type { Look, MockupQuestions } from './messages.ts';

interface KeptFace {
  readonly slab: SlabShape;
  readonly parts: SlabParts;
  /** Whether its rim has a photograph's colours. */
  readonly photographed: boolean;
  readonly face: FaceMap;
  readonly look: FaceLook;
}
const MOST_FACES = 12;
const faces = new Map<string, KeptFace>();

const hooksOf = ({ signal, onProgress }: Asker): DrawHooks => ({
  onProgress: (share) => onProgress(share, ''),
  signal,
});

serveQuestions<MockupQuestions>({
  async face({ key, slab, parts, photo, widthPx }) {
    const wood = photo && placeWood(photo.place, await decode(photo.bytes));
    const face = drawFace({ ...parts, wood }, widthPx);
    const { width, height, relief, lowUm, highUm } = face;
    const color = { width, height, data: face.color };
    const slopes = slopePicture({ width, height, data: relief, lowUm, highUm, pixelMm: slab.widthMm / width });
    const kept: KeptFace = {
      slab,
      parts: slabParts(slab, wood),
      photographed: wood !== null,
      face,
      look: { color, slopes },
    };
    faces.delete(key);
    faces.set(key, kept);
    if (faces.size > MOST_FACES) faces.delete(faces.keys().next().value as string);
    return { gets: { parts: kept.parts, color, slopes: slopes as typeof color } };
  },
  async still({ key, width, height, type, ...look }, asker) {
    const sheet = await drawStill(shotOf(key, look), { width, height }, hooksOf(asker));
    return { gets: await sheet.convertToBlob({ type, quality: 0.93 }) };
  },
  async clip({ key, kind, width, height, seconds, ...look }, asker) {
    return { gets: await drawClip(shotOf(key, look), kind, { width, height, seconds }, hooksOf(asker)) };
  },
  async 'burn-clip'({ faces: keys, courses, frame, lamp, stance, width, height, seconds }, asker) {
    const shot = shotOf(keys[0], { setting: 'bed', lamp, stance });
    const burn = { faces: keys.map((key) => keptFace(key).look), courses, frame };
    return { gets: await drawBurnClip(shot, burn, { width, height, seconds }, hooksOf(asker)) };
  },
  async page({ key, name, facts, maker, band, ...look }, asker) {
    const hooks = hooksOf(asker);
    const { slab, face, parts, photographed } = keptFace(key);
    const { rimMap } = parts;
    const small = async (of: string, width: number, onProgress?: (share: number) => void) => {
      const sheet = await drawStill(
        shotOf(of, look),
        { width, height: Math.round(width * 0.75) },
        { ...hooks, onProgress },
      );
      return dataAddress(await bytesOf(sheet, 'image/jpeg', 0.86), 'image/jpeg');
    };
    const still = await small(key, 1000, (share) => hooks.onProgress?.(0.4 * share));
    const lighter = band ? await small(band.lighter, 560, (share) => hooks.onProgress?.(0.4 + 0.25 * share)) : '';
    const darker = band ? await small(band.darker, 560, (share) => hooks.onProgress?.(0.65 + 0.25 * share)) : '';
    const { width, height, color, lowUm, highUm } = face;
    const setting = look.setting === 'bed' ? 'stand' : look.setting;
    const html = await clientFile({
      name,
      facts,
      maker,
      data: {
        slab,
        color: dataAddress(await encode({ width, height, data: color }, 'image/jpeg', 0.88), 'image/jpeg'),
        relief: dataAddress(await encode(packedRelief(face), 'image/png'), 'image/png'),
        lowUm,
        highUm,
        rim: photographed
          ? {
              color: dataAddress(await encode({ ...rimMap, data: rimMap.color }, 'image/jpeg', 0.9), 'image/jpeg'),
              normal: dataAddress(await encode({ ...rimMap, data: rimMap.normal }, 'image/jpeg', 0.9), 'image/jpeg'),
            }
          : null,
        setting,
        lamp: look.lamp,
      },
      still,
      band: band && { lighter, darker },
      program: clientProgram,
      sha256: async (text) =>
        toBase64(new Uint8Array(await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text)))),
    });
    return { gets: new TextEncoder().encode(html) };
  },
  async model({ key, name, kind }) {
    const { slab, parts, face } = keptFace(key);
    const model = await slabModel(name, slab, parts, face, encode);
    return { gets: kind === 'glb' ? encodeGlb(model) : encodeUsdz(model) };
  },
});

function keptFace(key: string): KeptFace {
  const kept = faces.get(key);
  if (!kept) throw new Error('The slab is not there any more: open the mock-up once more.');
  return kept;
}

function shotOf(key: string, { setting, lamp, stance }: Look): Shot {
  const { slab, parts, look } = keptFace(key);
  return { slab, parts, look, setting, lamp, stance };
}

const bytesOf = async (canvas: OffscreenCanvas, type: string, quality?: number): Promise<Uint8Array> =>
  new Uint8Array(await (await canvas.convertToBlob({ type, quality })).arrayBuffer());

const encode: EncodePicture = async ({ width, height, data }, type, quality) => {
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d', { alpha: false });
  if (!context) throw new Error('The browser has no memory left for the picture.');
  context.putImageData(new ImageData(new Uint8ClampedArray(data), width, height), 0, 0);
  return bytesOf(canvas, type, quality);
};

async function decode(bytes: Uint8Array): Promise<{ width: number; height: number; data: Uint8Array }> {
  const options: ImageBitmapOptions = { premultiplyAlpha: 'none', colorSpaceConversion: 'none' };
  const image = await createImageBitmap(new Blob([bytes as BlobPart]), options);
  const width = Math.min(MOST_WOOD_PX, image.width);
  const height = Math.max(1, Math.round((image.height * width) / image.width));
  const context = new OffscreenCanvas(width, height).getContext('2d', { alpha: false, willReadFrequently: true });
  if (!context) throw new Error('The browser has no memory left for the picture.');
  context.imageSmoothingQuality = 'high';
  context.drawImage(image, 0, 0, width, height);
  image.close();
  return { width, height, data: new Uint8Array(context.getImageData(0, 0, width, height).data.buffer) };
}

const CHUNK = 0x8000;
function toBase64(bytes: Uint8Array): string {
  let text = '';
  for (let i = 0; i < bytes.length; i += CHUNK) text += String.fromCharCode(...bytes.subarray(i, i + CHUNK));
  return btoa(text);
}
const dataAddress = (bytes: Uint8Array, type: string): string => `data:${type};base64,${toBase64(bytes)}`;
