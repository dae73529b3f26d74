import { watchContext } from '../../base/card-watch.ts';
import { breathe } from '../../base/stop.ts';
import { openContext } from '../engine/gl.ts';
import type { Lamp } from '../lamp.ts';
import type { SlabShape } from '../mesh/outline.ts';
import type { SlabParts } from '../model/slab-parts.ts';
import { AT_HOME, type FaceLook, MockupScene, type Quality, STILL_QUALITY, type Stance } from './mockup-scene.ts';
import type { SettingName } from './things/solids.ts';

/** What is to be seen, and from where. */
export interface Shot {
  readonly slab: SlabShape;
  readonly parts?: SlabParts;
  readonly look: FaceLook;
  readonly setting: SettingName;
  readonly lamp: Lamp;
  readonly stance?: Stance;
}

export interface DrawHooks {
  /** Share done, 0–1. */
  readonly onProgress?: (share: number) => void;
  readonly signal?: AbortSignal;
}

/** Rows of a tile: bounds what the graphics card has to hold at a time. */
const TILE_ROWS = 750;

interface OpenedScene {
  readonly canvas: OffscreenCanvas;
  readonly scene: MockupScene;
  /** @throws DeviceLost if what was drawn so far may be nothing. */
  readonly assertLives: () => void;
  close(): void;
}

/** A scene on a canvas of its own, to be drawn from without anybody looking. */
export function openScene({ slab, parts, look, setting, lamp, stance = AT_HOME }: Shot): OpenedScene {
  const canvas = new OffscreenCanvas(16, 16);
  const gl = openContext(canvas, { antialias: true, alpha: false });
  const assertLives = watchContext(gl);
  const scene = new MockupScene(gl);
  scene.setSlab(slab, parts);
  scene.setFace(look);
  scene.setSetting(setting);
  scene.setLamp(lamp);
  scene.setStance(stance);
  return {
    canvas,
    scene,
    assertLives,
    close() {
      scene.dispose();
      gl.getExtension('WEBGL_lose_context')?.loseContext();
    },
  };
}

/** Counts light until it is enough. @throws Cancelled. */
export async function gatherLight(
  scene: MockupScene,
  quality: Quality,
  { onProgress, signal }: DrawHooks,
): Promise<void> {
  const total = quality.lamp + quality.room;
  while (scene.refine(quality)) {
    onProgress?.(Math.min(1, scene.counted / total));
    await breathe(signal);
  }
}

export const tilesOf = (height: number): number => Math.ceil(height / TILE_ROWS);

/** Draws one tile of a still onto its sheet. */
export function drawTile(
  { canvas, scene }: Pick<OpenedScene, 'canvas' | 'scene'>,
  sheet: { drawImage(image: OffscreenCanvas, x: number, y: number): void },
  { width, height }: { readonly width: number; readonly height: number },
  i: number,
): void {
  const tiles = tilesOf(height);
  const top = Math.round((i * height) / tiles);
  const rows = Math.round(((i + 1) * height) / tiles) - top;
  if (canvas.width !== width) canvas.width = width;
  if (canvas.height !== rows) canvas.height = rows;
  scene.draw(width, rows, { x: 0, y: 1 - (top + rows) / height, width: 1, height: rows / height });
  sheet.drawImage(canvas, 0, top);
}

/** Draws a still in tiles. @throws Cancelled. */
export async function drawStill(
  shot: Shot,
  size: { readonly width: number; readonly height: number },
  hooks: DrawHooks = {},
): Promise<OffscreenCanvas> {
  const { width, height } = size;
  const opened = openScene(shot);
  const { scene, close } = opened;
  try {
    scene.setFrame(width / height, Math.max(width, height));
    await gatherLight(scene, STILL_QUALITY, {
      ...hooks,
      onProgress: (share) => hooks.onProgress?.(0.4 * share),
    });
    const sheet = new OffscreenCanvas(width, height);
    const context = sheet.getContext('2d', { alpha: false });
    if (!context) throw new Error('The browser has no memory left for a picture of this size.');
    const tiles = tilesOf(height);
    for (let i = 0; i < tiles; i++) {
      drawTile(opened, context, size, i);
      opened.assertLives();
      hooks.onProgress?.(0.4 + (0.6 * (i + 1)) / tiles);
      await breathe(hooks.signal);
    }
    return sheet;
  } finally {
    close();
  }
}

/** Frames of a clip a second. */
export const FRAMES_PER_S = 30;
