import type { BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { SlabViewProps } from '../../src/render/slab/SlabScene.tsx';
import type { ProofSurface } from '../../src/render/slab/surface/gpu-surface.ts';
import { sharedChromium, sourcesUrl } from '../helpers/shared.ts';
import { expectPicture, readPng } from './compare.ts';

const SMALL = { widthMm: 256, heightMm: 200, pitchMm: 0.64, strength: 0.95, seed: 3, crop: 'oval' as const };
const MASKED = { widthMm: 300, heightMm: 240, maskedMm: 14 };
const UNMASKED = { ...MASKED, maskedMm: 0 };
const LOW_LAMP = { azimuthRad: (305 * Math.PI) / 180, elevationRad: (18 * Math.PI) / 180 };

declare global {
  interface Window {
    /** Set by a test: hands the view the rest of a surface. */
    __whole?: () => void;
  }
}

/** One for all tests: what a page has fetched the next one has too. */
let context: BrowserContext;
let page: Page;

beforeAll(async () => {
  context = await (await sharedChromium()).newContext({
    viewport: { width: 480, height: 360 },
    deviceScaleFactor: 1,
    reducedMotion: 'reduce',
  });
});

afterAll(async () => {
  await context?.close();
});

beforeEach(async () => {
  await page?.close();
  page = await context.newPage();
  await page.goto(`${sourcesUrl()}test/image/harness/index.html`);
  await page.waitForFunction(() => window.__harness?.handle && window.__harness.frames.length > 0);
});

/** Waits until nothing has been drawn for a while: surfaces are sent, the camera stands. */
async function calm(): Promise<void> {
  let seen = -1;
  let still = 0;
  for (let i = 0; i < 60; i++) {
    // A busy machine may draw nothing for a while: only frames that the browser could have drawn count as rest.
    const drawn = await page.evaluate(async () => {
      for (let k = 0; k < 3; k++) await new Promise((resolve) => requestAnimationFrame(resolve));
      return window.__harness.frames.length;
    });
    still = drawn === seen ? still + 1 : 0;
    if (still === 2) return;
    seen = drawn;
    await page.waitForTimeout(300);
  }
  throw new Error('The view does not come to rest.');
}

async function capture(): Promise<Uint8Array> {
  await calm();
  const base64 = await page.evaluate(async () => {
    const blob = await window.__harness.handle!.capture({ pixelRatio: 1 });
    const bytes = new Uint8Array(await blob.arrayBuffer());
    return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(''));
  });
  return Buffer.from(base64, 'base64');
}

/** Codes between the darks and the lights of a burned picture; a slab without one has fewer. */
const CONTRAST = 120;

const showSmall = (): Promise<void> =>
  page.evaluate((options) => {
    const surface = window.__harness.fabricate(options);
    window.__harness.set({ surfaces: { left: surface, right: null } });
  }, SMALL);

describe('the slab under the lamp', () => {
  it('looks as before', async () => {
    await showSmall();
    await page.evaluate((lamp) => window.__harness.set({ lamp }), LOW_LAMP);
    expectPicture('slab-low-lamp', await capture());
  });

  it('shows marks and two proofs as before', async () => {
    await page.evaluate((options) => {
      const { fabricate, set } = window.__harness;
      const left = fabricate({ ...options, strength: 1.25 });
      const right = fabricate({ ...options, strength: 0.75 });
      set({ surfaces: { left, right }, wipe: 0.5, overlays: { uncleared: true, scorched: true } });
    }, SMALL);
    expectPicture('slab-wipe-marks', await capture());
  });

  it('gives every proof colour back in even light', async () => {
    // Broad flat patches, so that the middle of each can be read on the screen: a scale of greys and a few paints.
    const patches = [
      [225, 217, 196],
      [82, 70, 61],
      [128, 128, 128],
      [190, 190, 190],
      [150, 105, 70],
      [96, 120, 140],
    ];
    await page.evaluate((colors) => {
      const width = 60;
      const height = 40;
      const color = new Uint8Array(width * height * 4);
      for (let y = 0; y < height; y++) {
        for (let x = 0; x < width; x++) {
          color.set(colors[Math.floor(x / 20) + 3 * Math.floor(y / 20)], 4 * (y * width + x));
        }
      }
      const relief = new Uint16Array(width * height * 2);
      const swaths = [{ y0: 0, rows: height, color, relief }];
      const left: ProofSurface = { id: 'patches', width, height, pitchMm: 3, swaths, complete: true, version: 1 };
      window.__harness.set({
        surfaces: { left, right: null },
        picture: { centreXMm: 0, centreYMm: 0, widthMm: 180, heightMm: 120, crop: 'rectangle' },
        lighting: 'dome',
      });
    }, patches);
    const picture = readPng(await capture());
    // Where the middles of the patches are on the screen: asked of the view by moving the pointer.
    for (const [i, color] of patches.entries()) {
      const wanted = { xMm: 30 + 60 * (i % 3), yMm: 30 + 60 * Math.floor(i / 3) };
      const at = await findOnScreen(wanted);
      const offset = (at.y * picture.width + at.x) * picture.channels;
      for (let c = 0; c < 3; c++) {
        expect(Math.abs(picture.data[offset + c] - color[c]), `patch ${i}, channel ${c}`).toBeLessThanOrEqual(2);
      }
    }
  });

  it('keeps showing the coarse proof until the fine one is whole', async () => {
    await showSmall();
    const coarse = await capture();
    await page.evaluate((options) => {
      const whole = window.__harness.fabricate({ ...options, pitchMm: 0.32, strength: 0.6 });
      const part = { ...whole, swaths: whole.swaths.slice(0, 2), complete: false };
      window.__harness.set({ surfaces: { left: part, right: null } });
      setTimeout(() => {
        window.__whole = () => window.__harness.set({ surfaces: { left: { ...whole, version: 2 }, right: null } });
      }, 300);
    }, SMALL);
    await page.waitForFunction(() => window.__whole);
    expect(Buffer.compare(await capture(), coarse)).toBe(0);
    await page.evaluate(() => window.__whole!());
    expect(Buffer.compare(await capture(), coarse)).not.toBe(0);
  });

  it('draws the same again after it lost its graphics context', async () => {
    await showSmall();
    await page.evaluate((slab) => window.__harness.set({ ground: window.__harness.fabricateGround(slab) }), MASKED);
    let before = readPng(await capture());
    // In the middle of the picture: beside it lies a pale table.
    const contrastOf = ({ data, channels, width, height }: typeof before): number => {
      let [darkest, lightest] = [255, 0];
      for (let y = Math.round(0.35 * height); y < 0.65 * height; y++) {
        for (let x = Math.round(0.35 * width); x < 0.65 * width; x++) {
          darkest = Math.min(darkest, data[(y * width + x) * channels]);
          lightest = Math.max(lightest, data[(y * width + x) * channels]);
        }
      }
      return lightest - darkest;
    };
    // While the card is waited for nothing is drawn, which looks like rest: the picture must be there before it is lost.
    const shown = async (): Promise<number> => {
      before = readPng(await capture());
      return contrastOf(before);
    };
    await expect.poll(shown, { timeout: 60_000, interval: 1_000 }).toBeGreaterThan(CONTRAST);
    await page.evaluate(async () => {
      const canvas = document.querySelector('canvas')!;
      const lose = canvas.getContext('webgl2')!.getExtension('WEBGL_lose_context')!;
      const back = new Promise((done) => canvas.addEventListener('webglcontextrestored', done, { once: true }));
      lose.loseContext();
      await new Promise((done) => setTimeout(done, 100));
      lose.restoreContext();
      await back;
    });
    let after = before;
    const different = async (): Promise<number> => {
      after = readPng(await capture());
      let count = 0;
      for (let i = 0; i < before.data.length; i++) if (Math.abs(before.data[i] - after.data[i]) > 2) count += 1;
      return count / before.data.length;
    };
    // How long it takes to send all of it again is the machine's affair.
    await expect.poll(different, { timeout: 60_000, interval: 1_000 }).toBeLessThan(0.001);
    // Not just both empty: the picture has darks and lights.
    expect(contrastOf(after)).toBeGreaterThan(CONTRAST);
  });
});

describe('the unburned slab around the picture', () => {
  it('looks as before: rings under the coat, a knot, a masked rim', async () => {
    await page.evaluate(
      ([slab, options, lamp]) => {
        const { burnOn, fabricateGround, set } = window.__harness;
        set({ ground: fabricateGround(slab), surfaces: { left: burnOn(slab, options), right: null }, lamp });
        set({ picture: { centreXMm: 0, centreYMm: 0, widthMm: 200, heightMm: 150, crop: 'oval' } });
      },
      [MASKED, { ...SMALL, widthMm: 200, heightMm: 150 }, LOW_LAMP] as const,
    );
    expectPicture('slab-ground', await capture());
  });

  it('shows the ground outside the picture only, and the flat colour again without it', async () => {
    const outside = await placeOnScreen(-110, 0);
    const inside = await placeOnScreen(0, 0);
    await page.evaluate(() => {
      const { evenSurface, set } = window.__harness;
      const stripe = (_x: number, y: number) => (Math.abs(y - 120) < 12 ? [200, 60, 40, 255] : [60, 90, 120, 255]);
      set({
        ground: evenSurface('stripe', 300, 240, stripe),
        surfaces: { left: evenSurface('grey', 120, 90, () => [170, 170, 170, 0]), right: null },
        picture: { centreXMm: 0, centreYMm: 0, widthMm: 120, heightMm: 90, crop: 'rectangle' },
        intactColor: [0.5, 0.5, 0.1],
        lighting: 'dome',
      });
    });
    const withGround = readPng(await capture());
    expectNear(pixelOf(withGround, outside), [200, 60, 40], 2);
    expectNear(pixelOf(withGround, inside), [170, 170, 170], 2);
    await page.evaluate(() => window.__harness.set({ ground: null }));
    const without = readPng(await capture());
    // sRGB codes of the intact colour.
    expectNear(pixelOf(without, outside), [188, 188, 89], 2);
    expectNear(pixelOf(without, inside), [170, 170, 170], 2);
  });

  it('draws the same without a proof as under one that burned nothing', async () => {
    await page.evaluate(
      ([slab, lamp]) => {
        const { fabricateGround, set } = window.__harness;
        set({ ground: fabricateGround(slab), lamp, reliefExaggeration: 12 });
        set({ picture: { centreXMm: 0, centreYMm: 0, widthMm: 200, heightMm: 150, crop: 'rectangle' } });
      },
      [UNMASKED, LOW_LAMP] as const,
    );
    const alone = readPng(await capture());
    await page.evaluate((slab) => {
      const { unburnedOn, set } = window.__harness;
      set({ surfaces: { left: unburnedOn(slab, { widthMm: 200, heightMm: 150, pitchMm: 0.25 }), right: null } });
    }, UNMASKED);
    const under = readPng(await capture());
    expect(worstDifference(alone, under)).toBeLessThanOrEqual(4);
  });

  it('lights its relief outside the picture', async () => {
    const valley = await placeOnScreen(-110, 0);
    const show = (slope: number) =>
      page.evaluate(
        ([perMm, lamp]) => {
          const { evenSurface, set } = window.__harness;
          const height = (x: number) => perMm * Math.abs(x - 30);
          set({ ground: evenSurface(`wedge ${perMm}`, 300, 240, () => [150, 150, 150, 255], height), lamp });
        },
        [slope, { azimuthRad: (270 * Math.PI) / 180, elevationRad: (20 * Math.PI) / 180 }] as const,
      );
    await show(0);
    const flat = pixelOf(readPng(await capture()), valley)[1];
    // East of x = 30 mm the wedge rises eastwards: it faces the lamp in the west.
    await show(100);
    const rising = pixelOf(readPng(await capture()), valley)[1];
    await show(-100);
    const falling = pixelOf(readPng(await capture()), valley)[1];
    expect(rising).toBeGreaterThan(flat + 8);
    expect(falling).toBeLessThan(flat - 8);
  });
});

describe('the slab as it was photographed', () => {
  /** Left half painted, right half bare wood; the photograph blue on the left, on the right green above and red below. */
  const show = (photographed: boolean, burned: readonly number[] | null = null): Promise<void> =>
    page.evaluate(
      async ([on, color]) => {
        const { evenSurface, set } = window.__harness;
        const canvas = new OffscreenCanvas(300, 240);
        const context = canvas.getContext('2d')!;
        for (const [fill, x, y, height] of [
          ['rgb(30 60 190)', 0, 0, 240],
          ['rgb(40 150 60)', 150, 0, 120],
          ['rgb(190 60 50)', 150, 120, 120],
        ] as const) {
          context.fillStyle = fill;
          context.fillRect(x, y, 150, height);
        }
        const image = await createImageBitmap(canvas);
        const left = color && evenSurface('burned', 120, 90, () => [...color, 0]);
        set({
          ground: evenSurface('half', 300, 240, (x) => (x < 150 ? [60, 90, 120, 255] : [150, 110, 70, 0])),
          woodPhoto: on ? { image, centreXMm: 0, centreYMm: 0, widthMm: 300, heightMm: 240 } : null,
          surfaces: { left, right: null },
          picture: { centreXMm: 0, centreYMm: 0, widthMm: 120, heightMm: 90, crop: 'rectangle' },
          lighting: 'dome',
        });
      },
      [photographed, burned] as const,
    );

  /** The view once what was set is on the graphics card: a place has its colour. */
  async function drawn(place: { x: number; y: number }, color: readonly number[]): Promise<ReturnType<typeof readPng>> {
    for (let tries = 0; ; tries++) {
      const picture = readPng(await capture());
      const near = pixelOf(picture, place).every((value, c) => Math.abs(value - color[c]) <= 2);
      if (near) return picture;
      if (tries === 12) expectNear(pixelOf(picture, place), [...color], 2);
    }
  }

  it('shows its own wood where that is bare, and its own rim all round', async () => {
    const [painted, above, below] = [
      await placeOnScreen(-90, 0),
      await placeOnScreen(70, -60),
      await placeOnScreen(70, 60),
    ];
    const rim = await placeOnScreen(-147.5, 0);
    await show(true);
    const own = await drawn(painted, [60, 90, 120]);
    expectNear(pixelOf(own, above), [40, 150, 60], 2);
    expectNear(pixelOf(own, below), [190, 60, 50], 2);
    expect(pixelOf(own, rim)[2]).toBeGreaterThan(pixelOf(own, rim)[0] + 40);
    await show(false);
    const grown = await drawn(above, [150, 110, 70]);
    expectNear(pixelOf(grown, painted), [60, 90, 120], 2);
    expect(pixelOf(grown, rim)[0]).toBeGreaterThan(pixelOf(grown, rim)[2]);
  });

  it('is burned darker by the factor that its grown wood is, and not where paint lies', async () => {
    const [painted, bare] = [await placeOnScreen(-40, -20), await placeOnScreen(40, -20)];
    const burned = [100, 70, 40];
    await show(true, burned);
    const picture = await drawn(painted, burned);
    // In linear light (IEC 61966-2-1): what the photograph shows, times burned over unburned wood.
    const linear = (code: number) => ((code / 255 + 0.055) / 1.055) ** 2.4;
    const encoded = (light: number) => 255 * (1.055 * light ** (1 / 2.4) - 0.055);
    const wood = [150, 110, 70];
    const expected = [40, 150, 60].map((code, k) => encoded((linear(code) * linear(burned[k])) / linear(wood[k])));
    // A colour is encoded to 8 bits once more on the way.
    expectNear(pixelOf(picture, bare), expected, 3);
  });
});

describe('the gloss of what lies open', () => {
  const MIRRORED = { azimuthRad: 0, elevationRad: (65 * Math.PI) / 180 };
  /** A slab of one colour with the lamp where a glossy one mirrors it into the camera. */
  const shown = async (painted: number, gloss: Partial<SlabViewProps>): Promise<ReturnType<typeof readPng>> => {
    await page.evaluate(
      ([alpha, changed, lamp]) => {
        const { evenSurface, set } = window.__harness;
        set({ ground: evenSurface(`painted ${alpha}`, 300, 240, () => [120, 90, 70, alpha]), lamp, ...changed });
      },
      [painted, gloss, MIRRORED] as const,
    );
    return readPng(await capture());
  };

  it('belongs to the wood where nothing is painted', async () => {
    const middle = await placeOnScreen(0, 0);
    const north = await placeOnScreen(20, -70);
    const west = await placeOnScreen(-100, 10);
    const glossy = await shown(255, { gloss60: 60, woodGloss60: 4 });
    const bare = await shown(0, { gloss60: 60, woodGloss60: 4 });
    const matte = await shown(255, { gloss60: 4, woodGloss60: 60 });
    expect(pixelOf(glossy, middle)[1]).toBeGreaterThan(pixelOf(bare, middle)[1] + 40);
    // Away from the edge, where a film rolls and bare wood does not.
    for (const place of [middle, north, west]) expectNear(pixelOf(bare, place), pixelOf(matte, place), 1);
  });

  it('belongs to the wood where there is no such coat', async () => {
    const named = await shown(255, { gloss60: null, woodGloss60: 30 });
    const same = await shown(255, { gloss60: 30, woodGloss60: 3 });
    expect(worstDifference(named, same)).toBeLessThanOrEqual(1);
  });

  it('belongs to the undercoat where that is scorched and to the wood where it is burned through', async () => {
    const middle = await placeOnScreen(0, 0);
    const burnedTo = async (scorch: number): Promise<number> => {
      await page.evaluate((value) => {
        const { evenSurface, set } = window.__harness;
        const burned = evenSurface(
          `scorch ${value}`,
          200,
          150,
          () => [225, 200, 180, 0],
          () => -40,
          value,
        );
        set({ surfaces: { left: burned, right: null } });
        set({ picture: { centreXMm: 0, centreYMm: 0, widthMm: 200, heightMm: 150, crop: 'rectangle' } });
      }, scorch);
      const picture = await shown(255, { gloss60: 5, underGloss60: 60, woodGloss60: 2 });
      return pixelOf(picture, middle)[1];
    };
    const open = await burnedTo(0);
    const scorched = await burnedTo(0.6);
    const through = await burnedTo(1);
    expect(Math.abs(scorched - open)).toBeLessThanOrEqual(2);
    expect(through).toBeLessThan(open - 15);
  });
});

describe('the edge of the slab', () => {
  const rimOf = async (slab: Partial<SlabViewProps['slab']>): Promise<ReturnType<typeof readPng>> => {
    await page.evaluate((changed) => {
      const { set, props } = window.__harness;
      set({ slab: { ...props.slab, thicknessMm: 40, ...changed } });
    }, slab);
    return readPng(await capture());
  };

  it('is dark with bark and light where it is sawn, and leaves the face alone', async () => {
    const middle = await placeOnScreen(0, 0);
    const bark = await rimOf({ edge: 'bark' });
    const sawn = await rimOf({ edge: 'sawn' });
    // Below the face, on the side that looks at the camera.
    const side = { x: middle.x, y: (await placeOnScreen(0, 116)).y + 14 };
    expect(pixelOf(sawn, side)[0]).toBeGreaterThan(pixelOf(bark, side)[0] + 30);
    expectNear(pixelOf(sawn, middle), pixelOf(bark, middle), 2);
  });

  it('has bark by default', async () => {
    const named = await rimOf({ edge: 'bark', cut: 'slice' });
    const unnamed = await rimOf({});
    expect(worstDifference(named, unnamed)).toBeLessThanOrEqual(1);
  });

  it('shows the rings of a plank on its ends as before', async () => {
    await page.evaluate(
      (lamp) => {
        const { set, props } = window.__harness;
        const slab = { ...props.slab, shape: 'rectangle', edge: 'sawn', cut: 'plank', thicknessMm: 40 } as const;
        set({ slab, lamp });
      },
      { azimuthRad: (250 * Math.PI) / 180, elevationRad: (40 * Math.PI) / 180 },
    );
    await capture();
    await page.getByRole('application').focus();
    for (const [key, times] of [
      ['-', 1],
      ['ArrowLeft', 10],
      ['ArrowDown', 7],
    ] as const) {
      for (let i = 0; i < times; i++) await page.keyboard.press(key);
    }
    expectPicture('slab-plank-end', await capture());
  });
});

const pixelOf = (picture: ReturnType<typeof readPng>, at: { x: number; y: number }): number[] => {
  const offset = (at.y * picture.width + at.x) * picture.channels;
  return [0, 1, 2].map((c) => picture.data[offset + c]);
};

function expectNear(actual: number[], wanted: number[], within: number): void {
  for (let c = 0; c < 3; c++) {
    expect(Math.abs(actual[c] - wanted[c]), `${actual} against ${wanted}`).toBeLessThanOrEqual(within);
  }
}

function worstDifference(a: ReturnType<typeof readPng>, b: ReturnType<typeof readPng>): number {
  let worst = 0;
  for (let i = 0; i < a.data.length; i++) worst = Math.max(worst, Math.abs(a.data[i] - b.data[i]));
  return worst;
}

/** Where a point of the slab's face is on the screen, mm from its centre: the probe is asked with a picture as large as the slab. */
async function placeOnScreen(xMm: number, yMm: number): Promise<{ x: number; y: number }> {
  const before = await page.evaluate(() => {
    const { picture } = window.__harness.props;
    window.__harness.set({
      picture: { centreXMm: 0, centreYMm: 0, widthMm: 300, heightMm: 240, crop: 'rectangle' },
    });
    return picture;
  });
  const at = await findOnScreen({ xMm: xMm + 150, yMm: yMm + 120 });
  await page.evaluate((picture) => window.__harness.set({ picture }), before);
  return at;
}

/** The screen pixel whose probe is nearest to a point of the picture, by a few Newton-like steps. */
async function findOnScreen(wanted: { xMm: number; yMm: number }): Promise<{ x: number; y: number }> {
  let x = 240;
  let y = 180;
  for (let i = 0; i < 12; i++) {
    await page.mouse.move(x, y);
    const probe = await page.evaluate(() => window.__harness.probe);
    if (!probe) throw new Error(`no probe at ${x}, ${y}`);
    const dx = wanted.xMm - probe.xMm;
    const dy = wanted.yMm - probe.yMm;
    if (Math.hypot(dx, dy) < 1.5) break;
    x = Math.round(x + dx * 0.9);
    y = Math.round(y + dy * 0.9);
  }
  return { x, y };
}
