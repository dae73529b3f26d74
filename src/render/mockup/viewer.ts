import { openContext } from '../engine/gl.ts';
import type { ClientFileData } from './client-file.ts';
import { AT_HOME, MockupScene } from './mockup-scene.ts';
import { lookOf, partsOf } from './opened-file.ts';
import { attachTurning, MockupStage, STAGE_CONTEXT } from './stage.ts';
import type { SettingName } from './things/solids.ts';

/** The program inside the client's file: turns the slab, moves the lamp. Everything it needs is in the page. */
async function start(): Promise<void> {
  const data = JSON.parse(document.getElementById('piece')!.textContent!) as ClientFileData;
  const canvas = document.getElementById('picture') as HTMLCanvasElement;
  const gl = openContext(canvas, STAGE_CONTEXT);
  const [color, relief, rim] = await Promise.all([
    openPicture(data.color),
    openPicture(data.relief),
    data.rim && Promise.all([openPicture(data.rim.color), openPicture(data.rim.normal)]),
  ]);
  const scene = new MockupScene(gl);
  scene.setSlab(data.slab, partsOf(data, rim));
  scene.setFace(lookOf(data, color, relief));
  scene.setSetting(data.setting);
  scene.setLamp(data.lamp);
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
      stage.turnTo(AT_HOME);
    });
  }
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
