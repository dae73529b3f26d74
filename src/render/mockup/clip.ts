import { ArrayBufferTarget, Muxer } from 'webm-muxer';
import { breathe } from '../../base/stop.ts';
import { burnPlace, courseTimeS, type PassCourse } from '../../physics/raster/pass-time.ts';
import { type BurnFaces, type BurnFrame, BurnScene } from './burn-scene.ts';
import { AT_HOME, type MockupScene, type Quality } from './mockup-scene.ts';
import { type DrawHooks, FRAMES_PER_S, gatherLight, openScene, type Shot } from './still.ts';

export type ClipKind = 'turn' | 'lamp';

interface ClipSize {
  readonly width: number;
  readonly height: number;
  readonly seconds: number;
}

/** Light samples of a frame. */
const FRAME_QUALITY: Quality = { lamp: 24, room: 36 };
const BITS_PER_PIXEL = 0.22;
const MICROSECONDS = 1_000_000;

/** What a recorder is given, frame by frame. */
interface Recorder {
  add(canvas: OffscreenCanvas): Promise<void>;
  finish(): Promise<Uint8Array>;
  close(): void;
}

/**
 * Records frames as WebM (Matroska, RFC 9559) with VP9 or VP8, whichever the browser can write. Frames have fixed times: the clip is the
 * same however long it takes to draw.
 * @throws Error with words for people if the browser writes neither.
 */
async function openRecorder(width: number, height: number): Promise<Recorder> {
  const none = new Error('This browser cannot write clips. A newer one can.');
  if (typeof VideoEncoder === 'undefined') throw none;
  const bitrate = Math.round(width * height * FRAMES_PER_S * BITS_PER_PIXEL);
  const candidates = [
    { codec: 'vp09.00.40.08', name: 'V_VP9' },
    { codec: 'vp8', name: 'V_VP8' },
  ];
  let chosen: (typeof candidates)[number] | null = null;
  for (const one of candidates) {
    const { supported } = await VideoEncoder.isConfigSupported({ codec: one.codec, width, height, bitrate }).catch(
      () => ({ supported: false }),
    );
    if (supported) {
      chosen = one;
      break;
    }
  }
  if (!chosen) throw none;
  const target = new ArrayBufferTarget();
  const muxer = new Muxer({
    target,
    video: { codec: chosen.name, width, height, frameRate: FRAMES_PER_S },
    firstTimestampBehavior: 'strict',
  });
  let fault: Error | null = null;
  const encoder = new VideoEncoder({
    output: (chunk, meta) => muxer.addVideoChunk(chunk, meta),
    error: (error) => {
      fault = error;
    },
  });
  encoder.configure({ codec: chosen.codec, width, height, bitrate, framerate: FRAMES_PER_S });
  let count = 0;
  return {
    async add(canvas) {
      if (fault) throw fault;
      const timestamp = Math.round((count * MICROSECONDS) / FRAMES_PER_S);
      const frame = new VideoFrame(canvas, { timestamp, duration: Math.round(MICROSECONDS / FRAMES_PER_S) });
      encoder.encode(frame, { keyFrame: count % (2 * FRAMES_PER_S) === 0 });
      frame.close();
      count++;
      while (encoder.encodeQueueSize > 4) await new Promise((resolve) => setTimeout(resolve, 4));
    },
    async finish() {
      await encoder.flush();
      if (fault) throw fault;
      muxer.finalize();
      return new Uint8Array(target.buffer);
    },
    close() {
      if (encoder.state !== 'closed') encoder.close();
    },
  };
}

const DEG = Math.PI / 180;
const smooth = (share: number): number => share * share * (3 - 2 * share);

/**
 * Records what `prepare` makes of a scene, frame by frame, at shares of the clip from 0 on.
 * @throws Cancelled.
 */
async function record(
  shot: Shot,
  { width, height, seconds }: ClipSize,
  hooks: DrawHooks,
  prepare: (scene: MockupScene) => Promise<(share: number) => void | Promise<void>>,
): Promise<Uint8Array> {
  const { canvas, scene, assertLives, close } = openScene(shot);
  let recorder: Recorder | null = null;
  try {
    recorder = await openRecorder(width, height);
    canvas.width = width;
    canvas.height = height;
    scene.setFrame(width / height, Math.max(width, height));
    const show = await prepare(scene);
    const frames = Math.round(seconds * FRAMES_PER_S);
    for (let i = 0; i < frames; i++) {
      await show(i / frames);
      scene.draw(width, height);
      await recorder.add(canvas);
      assertLives();
      hooks.onProgress?.((i + 1) / frames);
      await breathe(hooks.signal);
    }
    return await recorder.finish();
  } finally {
    recorder?.close();
    close();
  }
}

/** The slab turned once round, or a lamp that goes from raking to high and round. @throws Cancelled. */
export const drawClip = (shot: Shot, kind: ClipKind, size: ClipSize, hooks: DrawHooks): Promise<Uint8Array> =>
  record(shot, size, hooks, async (scene) => (share) => {
    if (kind === 'turn') {
      const free = scene.reach?.azimuthRad === Number.POSITIVE_INFINITY;
      // Round and round on the stand; elsewhere there and back.
      const sway = 0.55 * Math.sin(2 * Math.PI * share);
      scene.setStance({ ...AT_HOME, turnRad: free ? 2 * Math.PI * share : 0, azimuthRad: free ? 0 : sway });
    } else {
      const there = share < 0.5 ? smooth(2 * share) : smooth(2 - 2 * share);
      scene.setLamp({
        azimuthRad: shot.lamp.azimuthRad + 110 * DEG * there,
        elevationRad: (14 + 50 * Math.sin(Math.PI * share)) * DEG,
      });
    }
    return gatherLight(scene, FRAME_QUALITY, { signal: hooks.signal });
  });

/** Time for which the finished slab is shown at the end of a burn, as a share of the clip. */
const END_SHARE = 0.1;

/** The whole burn in some seconds. @throws Cancelled. */
export const drawBurnClip = (
  shot: Shot,
  burn: { readonly faces: BurnFaces; readonly courses: readonly PassCourse[]; readonly frame: BurnFrame },
  size: ClipSize,
  hooks: DrawHooks,
): Promise<Uint8Array> =>
  record(shot, size, hooks, async (scene) => {
    await gatherLight(scene, { lamp: 48, room: 72 }, { signal: hooks.signal });
    const show = new BurnScene(scene, burn.faces, burn.courses, burn.frame);
    const totalS = courseTimeS(burn.courses);
    return (share) => show.show(burnPlace(burn.courses, (totalS * share) / (1 - END_SHARE)));
  });
