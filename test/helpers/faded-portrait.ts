import { createGenerator } from '../../src/base/random/generator.ts';

/**
 * An old portrait that nobody sat for: head, hair and shoulders before a calm wall, soft light from the left, faded to a few middling
 * tones with a yellow cast, with grain and a few specks of dust. sRGB bytes, three to a pixel.
 */
export function fadedPortrait(width = 640, height = 800): { width: number; height: number; rgb: Uint8Array } {
  const random = createGenerator(7);
  const rgb = new Uint8Array(3 * width * height);
  const specks = Array.from({ length: 12 }, () => [random.nextUnit(), random.nextUnit()] as const);
  for (let j = 0; j < height; j++) {
    for (let i = 0; i < width; i++) {
      const [x, y] = [i / width - 0.5, j / width - 0.55];
      const tone = 0.32 + 0.4 * light(x, y) + 0.02 * random.nextNormal();
      const dusty = specks.some(([u, v]) => Math.hypot(i - u * width, j - v * height) < 2);
      const faded = Math.min(1, Math.max(0, dusty ? 0.82 : tone));
      [1, 0.93, 0.76].forEach((cast, k) => {
        rgb[3 * (j * width + i) + k] = Math.round(255 * faded * cast);
      });
    }
  }
  return { width, height, rgb };
}

/** Lightness of the sitter before the fading, 0–1; places in widths from between the eyes, y downwards. */
function light(x: number, y: number): number {
  const face = inside(x, y, 0.165, 0.215);
  const hair = inside(x, y + 0.05, 0.205, 0.235) * (1 - inside(x, y - 0.07, 0.155, 0.2));
  const shoulders = inside(x, y - 0.62, 0.42, 0.36);
  const neck = Math.abs(x) < 0.075 && y > 0.15 && y < 0.36 ? 1 : 0;
  const eyes = Math.max(inside(x + 0.065, y + 0.01, 0.022, 0.011), inside(x - 0.065, y + 0.01, 0.022, 0.011));
  const mouth = inside(x, y - 0.115, 0.045, 0.01);
  const shaded = 0.78 - 0.9 * (x + 0.05) - 0.25 * y * y;
  let tone = 0.62 - 0.1 * y;
  tone = mixed(tone, 0.18 - 0.15 * x, shoulders);
  tone = mixed(tone, shaded - 0.2, neck);
  tone = mixed(tone, shaded, face);
  tone = mixed(tone, 0.1, hair);
  return mixed(tone, 0.12, Math.max(eyes, mouth));
}

/** 1 in an ellipse, 0 outside, over a soft edge. */
const inside = (x: number, y: number, a: number, b: number): number =>
  Math.min(1, Math.max(0, (1 - Math.hypot(x / a, y / b)) * 12));
const mixed = (a: number, b: number, share: number): number => a + share * (b - a);
