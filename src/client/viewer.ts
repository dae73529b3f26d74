import type { ClientFileData } from '../core/export/client-file.ts';
import { type SlabParts, slabParts } from '../core/mockup/slab-parts.ts';
import { slopePicture } from './face-slopes.ts';
import { attachTurning } from './gestures.ts';
import { type FaceLook, MockupScene, STILL_QUALITY } from './mockup-scene.ts';
import type { SettingName } from './settings/setting.ts';
import { MockupStage, STAGE_CONTEXT } from './stage.ts';

/** The program inside the client's file: turns the slab, moves the lamp. Everything it needs is in the page. */
async function start(): Promise<void> {
  const data = JSON.parse(document.getElementById('piece')!.textContent!) as ClientFileData;
  const canvas = document.getElementById('picture') as HTMLCanvasElement;
  const wish = new URLSearchParams(location.hash.slice(1));
  const still = wish.get('still');
  const gl = canvas.getContext('webgl2', { ...STAGE_CONTEXT, preserveDrawingBuffer: still !== null });
  if (!gl) return;
  const look = await openFace(data);
  const scene = new MockupScene(gl);
  scene.setSlab(data.slab, await openParts(data));
  scene.setFace(look);
  scene.setSetting((still ?? data.setting) as SettingName);
  scene.setLamp(data.lamp);
  if (still !== null) {
    document.body.className = 'still';
    // A window without a screen may be resized between drawing and the picture that is taken of it: the wish tells the size.
    const [width, height] = [Number(wish.get('width')) || innerWidth, Number(wish.get('height')) || innerHeight];
    canvas.width = width;
    canvas.height = height;
    canvas.style.cssText = `position: fixed; inset: 0 auto auto 0; width: ${width}px; height: ${height}px`;
    scene.setFrame(width / height, Math.max(width, height));
    while (scene.refine(STILL_QUALITY)) {}
    scene.drawSmooth(width, height);
    // Reading waits until it is drawn.
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
    document.title = 'drawn';
    return;
  }
  document.body.className = 'live';
  const stage = new MockupStage(canvas, scene);
  stage.onDrawn = (finished) => {
    canvas.dataset['drawn'] = finished ? 'finished' : 'moving';
  };
  attachTurning(canvas, stage);
  attachControls(data, scene, stage);
  canvas.addEventListener('webglcontextlost', (event) => {
    event.preventDefault();
    document.body.className = '';
  });
  welcome(stage);
}

/** A short turn in, for those who like movement. */
function welcome(stage: MockupStage): void {
  if (matchMedia('(prefers-reduced-motion: reduce)').matches) {
    stage.touch();
    return;
  }
  const startMs = performance.now();
  const from = -0.55;
  let taken = false;
  const step = (now: number): void => {
    if (taken) return;
    const share = Math.min(1, Math.max(0, (now - startMs) / 1600));
    const rest = from * (1 - share) ** 3;
    stage.turnTo({ azimuthRad: rest * 0.4, turnRad: rest, heightRad: 0, zoom: 1 });
    if (share < 1) requestAnimationFrame(step);
  };
  requestAnimationFrame(step);
  for (const name of ['pointerdown', 'keydown', 'change'])
    document.addEventListener(name, () => (taken = true), { once: true });
}

const DEG = Math.PI / 180;

function attachControls(data: ClientFileData, scene: MockupScene, stage: MockupStage): void {
  const around = document.getElementById('lamp-around') as HTMLInputElement;
  const height = document.getElementById('lamp-height') as HTMLInputElement;
  around.value = String(Math.round(((data.lamp.azimuthRad / DEG + 540) % 360) - 180));
  height.value = String(Math.round(data.lamp.elevationRad / DEG));
  const lamp = (): void => {
    scene.setLamp({ azimuthRad: Number(around.value) * DEG, elevationRad: Number(height.value) * DEG });
    stage.touch();
  };
  around.addEventListener('input', lamp);
  height.addEventListener('input', lamp);
  for (const input of document.querySelectorAll<HTMLInputElement>('input[name="setting"]')) {
    input.checked = input.value === data.setting;
    input.addEventListener('change', () => {
      scene.setSetting(input.value as SettingName);
      stage.turnTo({ azimuthRad: 0, heightRad: 0, zoom: 1, turnRad: 0 });
    });
  }
}

async function openFace({ color, relief, lowUm, highUm, slab }: ClientFileData): Promise<FaceLook> {
  const [colors, heights] = await Promise.all([openPicture(color), openPixels(relief)]);
  return { color: colors, slopes: slopePicture({ ...heights, lowUm, highUm, pixelMm: slab.widthMm / heights.width }) };
}

async function openParts({ slab, rim }: ClientFileData): Promise<SlabParts> {
  const parts = slabParts(slab);
  if (!rim) return parts;
  const [color, normal] = await Promise.all([openPixels(rim.color), openPixels(rim.normal)]);
  const { width, height } = color;
  return { ...parts, rimMap: { width, height, color: color.data, normal: normal.data } };
}

async function openPixels(address: string): Promise<{ width: number; height: number; data: Uint8Array }> {
  const image = await openPicture(address);
  const { naturalWidth: width, naturalHeight: height } = image;
  const sheet = document.createElement('canvas');
  sheet.width = width;
  sheet.height = height;
  const context = sheet.getContext('2d', { willReadFrequently: true })!;
  context.drawImage(image, 0, 0);
  return { width, height, data: new Uint8Array(context.getImageData(0, 0, width, height).data.buffer) };
}

async function openPicture(address: string): Promise<HTMLImageElement> {
  const image = new Image();
  image.src = address;
  await image.decode();
  return image;
}

start().catch(() => {
  document.body.className = '';
});
