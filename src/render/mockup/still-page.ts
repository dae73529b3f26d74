import type { ClientFileData } from './client-file.ts';
import { STILL_QUALITY } from './mockup-scene.ts';
import { lookOf, partsOf } from './opened-file.ts';
import { drawTile, openScene, tilesOf } from './still.ts';

interface StillPageData extends ClientFileData {
  readonly width: number;
  readonly height: number;
}

/**
 * The program of a page that draws one still and leaves nothing in its document but the picture's data address, or what went wrong: all before the
 * page counts as loaded, because a browser without a window hands its document over then.
 */
addEventListener('load', () => {
  document.documentElement.textContent = attempt();
});

function attempt(): string {
  try {
    return draw();
  } catch (error) {
    return `fault: ${error instanceof Error ? error.message : String(error)}`;
  }
}

function draw(): string {
  const data = JSON.parse(document.getElementById('piece')!.textContent!) as StillPageData;
  const { width, height } = data;
  const image = (id: string) => document.getElementById(id) as HTMLImageElement;
  const opened = openScene({
    slab: data.slab,
    parts: partsOf(data, data.rim && [image('rim'), image('rim-normal')]),
    look: lookOf(data, image('color'), image('relief')),
    setting: data.setting,
    lamp: data.lamp,
  });
  opened.scene.setFrame(width / height, Math.max(width, height));
  while (opened.scene.refine(STILL_QUALITY)) {}
  const sheet = document.createElement('canvas');
  sheet.width = width;
  sheet.height = height;
  const context = sheet.getContext('2d', { alpha: false });
  if (!context) throw new Error('no memory left for a picture of this size');
  for (let i = 0; i < tilesOf(height); i++) drawTile(opened, context, { width, height }, i);
  return sheet.toDataURL('image/png');
}
