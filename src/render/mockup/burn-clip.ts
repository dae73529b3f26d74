import { breathe } from '../../base/stop.ts';
import { burnPlace, courseTimeS, type PassCourse } from '../../physics/raster/pass-time.ts';
import { type BurnFaces, type BurnFrame, BurnScene } from './burn-scene.ts';
import { openRecorder } from './clip.ts';
import { type DrawHooks, FRAMES_PER_S, gatherLight, openScene, type Shot } from './still.ts';

/** Time for which the finished slab is shown at the end, as a share of the clip. */
const END_SHARE = 0.1;

/** The whole burn in some seconds. @throws Cancelled. */
export async function drawBurnClip(
  shot: Shot,
  burn: { readonly faces: BurnFaces; readonly courses: readonly PassCourse[]; readonly frame: BurnFrame },
  size: { readonly width: number; readonly height: number; readonly seconds: number },
  hooks: DrawHooks = {},
): Promise<Uint8Array> {
  const { width, height, seconds } = size;
  const { canvas, scene, assertLives, close } = openScene(shot);
  const recorder = await openRecorder(width, height).catch((error) => {
    close();
    throw error;
  });
  try {
    canvas.width = width;
    canvas.height = height;
    scene.setFrame(width / height, Math.max(width, height));
    await gatherLight(scene, { lamp: 48, room: 72 }, { signal: hooks.signal });
    const show = new BurnScene(scene, burn.faces, burn.courses, burn.frame);
    const total = courseTimeS(burn.courses);
    const frames = Math.round(seconds * FRAMES_PER_S);
    for (let i = 0; i < frames; i++) {
      show.show(burnPlace(burn.courses, (total * i) / (frames * (1 - END_SHARE))));
      scene.draw(width, height);
      await recorder.add(canvas);
      assertLives();
      hooks.onProgress?.((i + 1) / frames);
      await breathe(hooks.signal);
    }
    return await recorder.finish();
  } finally {
    recorder.close();
    close();
  }
}
