import { describe, expect, test } from 'vitest';
import { areaMm2, boundsMm, type Point, type Polygon, perimeterMm } from '../../src/base/geometry/outline.ts';
import { signedDistanceMm } from '../../src/base/geometry/raster-mask.ts';
import { outlineToSvg, parseSvgPath, svgPathToOutline, svgToOutline } from '../../src/vision/slab/svg.ts';
import { wobblyEllipse } from '../helpers/render-slab-photo.ts';

const size = (outline: Polygon): [number, number] => {
  const { left, top, right, bottom } = boundsMm(outline);
  return [right - left, bottom - top];
};
const svg = (attributes: string, content: string): string =>
  `<svg xmlns="http://www.w3.org/2000/svg" ${attributes}>${content}</svg>`;

describe('outline → SVG → outline', () => {
  test('comes back within the decimals written', () => {
    const outline = svgPathToOutline(`M${wobblyEllipse(142, 112).join('L')}Z`).outline;
    const text = outlineToSvg(outline);
    const [width, height] = size(outline);
    expect(text).toContain(`width="${Number(width.toFixed(3))}mm" height="${Number(height.toFixed(3))}mm"`);
    const { outline: again, notes } = svgToOutline(text);
    expect(notes).toEqual([]);
    expect(again).toHaveLength(outline.length);
    again.forEach(([x, y], i) => {
      expect(Math.abs(x - outline[i][0])).toBeLessThan(0.0011);
      expect(Math.abs(y - outline[i][1])).toBeLessThan(0.0011);
    });
  });
});

describe('paths', () => {
  test.each([
    ['lines', 'M10 10 L90 10 L90 60 L10 60 Z'],
    ['after M as L, without spaces', 'M10,10 90,10,90 60 10 60z'],
    ['relative', 'm10 10l80 0l0 50-80 0z'],
    ['along the axes', 'M10 10H90V60H10Z'],
    ['along the axes, relative', 'm 10 10 h 80 v 50 h -80 z'],
    ['numbers run together', 'M1e1 10L90 1.0e1L90 60.L10.0.6e2z'],
  ])('a box of 80 × 50: %s', (_, d) => {
    const { outline, notes } = svgPathToOutline(d);
    expect(notes).toEqual([]);
    expect(outline).toHaveLength(4);
    expect(areaMm2(outline)).toBeCloseTo(4000, 9);
    expect(boundsMm(outline)).toEqual({ left: -40, top: -25, right: 40, bottom: 25 });
  });

  test.each([
    ['A', 'M-50 0A50 50 0 0 1 50 0A50 50 0 0 1 -50 0Z'],
    ['a, flags run together', 'M-50 0a50 50 0 01100 0a50,50,0,01-100 0z'],
    ['large arc', 'M-50 0A50 50 0 1 1 0 50A50 50 0 0 1 -50 0Z'],
    ['counter-clockwise, radii too small', 'M-50 0A5 5 0 0 0 50 0A5 5 0 0 0 -50 0Z'],
    ['cubic', 'M50 0C50 27.614 27.614 50 0 50S-50 27.614 -50 0S-27.614 -50 0 -50S50 -27.614 50 0Z'],
  ])('a circle of radius 50: %s', (_, d) => {
    const [stroke] = parseSvgPath(d);
    // Chords within 0.1 mm of the curve; four cubic curves are 0.014 mm off a circle of 50 mm themselves.
    for (const [x, y] of stroke.points) expect(Math.abs(Math.hypot(x, y) - 50)).toBeLessThan(0.015);
    const line = stroke.points;
    line.forEach(([x, y], i) => {
      const [u, v] = line[(i + 1) % line.length];
      expect(Math.hypot((x + u) / 2, (y + v) / 2)).toBeGreaterThan(49.9);
    });
    expect(perimeterMm(line)).toBeCloseTo(100 * Math.PI, 0);
    expect(line.length).toBeLessThan(80);
  });

  test('quadratic curves, mirrored ones too, pass where they must', () => {
    // y = x (40 − x) / 40 · 2 … from (0, 0) over (20, 20) to (40, 0), then mirrored below.
    const [stroke] = parseSvgPath('M0 0Q20 40 40 0T80 0');
    expect(stroke.closed).toBe(false);
    for (const [x, y] of stroke.points) {
      const u = x % 40;
      expect(Math.abs(y)).toBeCloseTo((u * (40 - u)) / 20, 9);
      if (x > 0.1 && x < 39.9) expect(y).toBeGreaterThan(0);
      if (x > 40.1 && x < 79.9) expect(y).toBeLessThan(0);
    }
    const relative = parseSvgPath('m0 0q20 40 40 0t40 0')[0].points;
    expect(relative).toEqual(stroke.points);
  });

  test('S after another command starts straight from its point', () => {
    const points = (d: string): readonly Point[] => parseSvgPath(d)[0].points;
    expect(points('M0 0L10 0S30 20 40 0')).toEqual(points('M0 0L10 0C10 0 30 20 40 0'));
    expect(points('m0 0l10 0s20 20 30 0')).toEqual(points('M0 0L10 0C10 0 30 20 40 0'));
  });

  test('an ellipse turned by 30°', () => {
    const [stroke] = parseSvgPath('M0 0A40 20 30 1 0 0.01 0Z');
    expect(areaMm2(stroke.points)).toBeGreaterThan(0.98 * Math.PI * 800);
    expect(areaMm2(stroke.points)).toBeLessThan(Math.PI * 800);
    const [width] = size(stroke.points);
    expect(width).toBeCloseTo(2 * Math.hypot(40 * Math.cos(Math.PI / 6), 20 * Math.sin(Math.PI / 6)), 0);
  });

  test('of several lines the largest is taken, an open one closed; both are said', () => {
    const { outline, notes } = svgPathToOutline('M0 0h10v10h-10zM100 0h60v40h-60m-40-40l1 1');
    expect(size(outline)).toEqual([60, 40]);
    expect(notes.join(' ')).toMatch(/3 lines/);
    expect(notes.join(' ')).toMatch(/was open and has been closed/);
    // After Z the next line starts where the last one did.
    expect(parseSvgPath('M5 5h10v10zl-5 0 0 -5z')[1].points[0]).toEqual([5, 5]);
  });

  test.each([
    ['not a path', 'hello', /“hello” \(character 1\)/],
    ['a missing number', 'M0 0L10', /cannot be read/],
    ['does not begin with M', 'L0 0 10 10', /character 1/],
    ['a flag that is none', 'M0 0A5 5 0 2 0 9 9z', /cannot be read/],
    ['nothing', '', /holds no line/],
    ['a point', 'M3 3z', /holds no line/],
    ['crossing itself', 'M0 0L10 10L10 0L0 10Z', /crosses itself/],
    ['no area', 'M0 0L10 0Z', /three points|no area/],
  ])('refuses %s', (_, d, message) => {
    expect(() => svgPathToOutline(d)).toThrow(RangeError);
    expect(() => svgPathToOutline(d)).toThrow(message);
  });
});

describe('documents', () => {
  const box = '<path d="M0 0h80v50h-80z"/>';
  test.each([
    ['mm by viewBox', 'width="160mm" height="100mm" viewBox="0 0 80 50"', [160, 100]],
    ['cm', 'width="8cm" height="5cm" viewBox="0 0 80 50"', [80, 50]],
    ['inches', 'width="1in" height="1in" viewBox="0 0 80 80"', [25.4, 15.875]],
    ['points', 'width="72pt" viewBox="0 0 80 50"', [25.4, 15.875]],
    ['fitted without distortion', 'width="160mm" height="50mm" viewBox="0 0 80 50"', [80, 50]],
    [
      'distorted where it says so',
      'width="160mm" height="50mm" viewBox="0 0 80 50" preserveAspectRatio="none"',
      [160, 50],
    ],
    ['pixels', 'width="80" height="50px"', [80 * (25.4 / 96), 50 * (25.4 / 96)]],
  ])('%s', (_, attributes, wanted) => {
    const { outline, notes } = svgToOutline(svg(attributes, box));
    expect(notes).toEqual([]);
    const [width, height] = size(outline);
    expect(width).toBeCloseTo(wanted[0], 9);
    expect(height).toBeCloseTo(wanted[1], 9);
  });

  test('without a size a pixel is 1/96 inch, and it says so', () => {
    const { outline, notes } = svgToOutline(svg('', box));
    expect(size(outline)[0]).toBeCloseTo(80 * (25.4 / 96), 9);
    expect(notes.join()).toMatch(/1\/96 inch/);
  });

  test('transformations of groups apply from the outside in, a turned arc included', () => {
    const inner = '<g transform="translate(7 9) rotate(90)"><path transform="scale(2,1)" d="M0 0H20V10H0Z"/></g>';
    const { outline } = svgToOutline(svg('width="100mm" height="100mm" viewBox="0 0 100 100"', inner));
    const [width, height] = size(outline);
    expect(width).toBeCloseTo(10, 9);
    expect(height).toBeCloseTo(40, 9);
    const round = '<path transform="scale(3 1)" d="M-10 0A10 10 0 0 1 10 0A10 10 0 0 1 -10 0Z"/>';
    const oval = svgToOutline(svg('width="100mm" height="100mm" viewBox="0 0 100 100"', round)).outline;
    expect(size(oval)[0]).toBeCloseTo(60, 9);
    const truth = Array.from(
      { length: 400 },
      (_, i): Point => [30 * Math.cos((i * Math.PI) / 200), 10 * Math.sin((i * Math.PI) / 200)],
    );
    for (const point of truth) expect(Math.abs(signedDistanceMm(oval, point))).toBeLessThan(0.11);
  });

  test('what is not drawn does not count', () => {
    const content = `<!-- <path d="M0 0h900v900h-900z"/> --><defs><path d="M0 0h500v500h-500z"/></defs>${box}`;
    expect(size(svgToOutline(svg('width="80mm" height="50mm" viewBox="0 0 80 50"', content)).outline)).toEqual([
      80, 50,
    ]);
  });

  test.each([
    ['no document', 'M0 0h80', /not an SVG document/],
    ['no path', svg('width="1mm"', '<rect width="3" height="4"/>'), /no path/],
    ['a size in furlongs', svg('width="3furlong"', box), /“3furlong”/],
    ['a size of zero', svg('width="0mm" viewBox="0 0 8 8"', box), /size of zero/],
    ['an unknown transformation', svg('width="8mm"', '<path transform="wobble(3)" d="M0 0h8v8z"/>'), /wobble/],
  ])('refuses %s', (_, text, message) => {
    expect(() => svgToOutline(text)).toThrow(RangeError);
    expect(() => svgToOutline(text)).toThrow(message);
  });
});

describe('drawings that are made to last for ever are answered', () => {
  const reasonOf = (run: () => unknown): string => {
    try {
      run();
    } catch (error) {
      expect(error).toBeInstanceOf(RangeError);
      return (error as Error).message;
    }
    return 'taken';
  };
  const drawing = (inside: string) => `<svg width="300mm" height="300mm" viewBox="0 0 300 300">${inside}</svg>`;
  const square = '<path d="M0 0H100V100H0Z"/>';

  test.each([
    ['a curve far out', 'M0 0C1e300 0 0 1e300 1 1Z', /further out than 100 m/],
    ['a curve so far out that it had millions of points', 'M0 0C1e12 0 0 1e12 1 1Z', /further out than 100 m/],
    ['infinity', 'M0 0L1e999 0L1 1Z', /further out than 100 m/],
    [
      'a smooth curve that mirrors itself far out',
      `M0 0Q1 1 2 0${'t1e4 1e4 '.repeat(20_000)}`,
      /further out than 100 m/,
    ],
    ['hundreds of thousands of points', `M0 0${'l.01 0 '.repeat(300_000)}Z`, /has more than 100000 points/],
    [
      'an outline of more points than are read',
      `M0 0${'l.01 .01'.repeat(15_000)}V0Z`,
      /has 15002 points and up to 10000/,
    ],
  ])('%s', (_, d, reason) => expect(reasonOf(() => svgPathToOutline(d))).toMatch(reason));

  test.each([
    ['comments that never end', '<!-- '],
    ['character data that never end', '<![CDATA['],
    ['declarations', '<!DOCTYPE x ['],
    ['tags that never end', '<a b="1" '],
    ['attributes in attributes', "<a b='<a b=\"' "],
    ['spaces', '<a                    '],
    ['brackets', '<'],
  ])('%s, a hundred thousand times', (_, filler) => {
    const long = drawing(filler.repeat(100_000)) + square;
    expect(typeof reasonOf(() => svgToOutline(long))).toBe('string');
    expect(reasonOf(() => svgToOutline(drawing(square + filler.repeat(100_000))))).toBe('taken');
  });

  test('groups in groups', () => {
    expect(reasonOf(() => svgToOutline(drawing('<g>'.repeat(100_000) + square)))).toMatch(/nested deeper than 64/);
    expect(reasonOf(() => svgToOutline(drawing('<g>'.repeat(50) + square + '</g>'.repeat(50))))).toBe('taken');
  });

  test('a text that is larger than any drawing', () => {
    expect(reasonOf(() => svgToOutline(drawing(' '.repeat(9e6))))).toBe('the document is larger than 8 MiB');
  });

  test('what it quotes is cut', () => {
    const long = drawing(`<g transform="${'turn(1) '.repeat(9000)}">${square}</g>`);
    const reason = reasonOf(() => svgToOutline(long));
    expect(reason).toMatch(/^the transformation “turn\(1\) .*…” cannot be read$/);
    expect(reason.length).toBeLessThan(120);
  });

  test('an outline whose edges all lie beside one another is looked through', () => {
    const teeth = Array.from(
      { length: 2000 },
      (_, i) => `L${1000 + i * 0.01} ${i * 0.0001 + 900}L${i * 0.01 + 0.005} ${i * 0.0001}`,
    );
    expect(reasonOf(() => svgPathToOutline(`M0 0${teeth.join('')}L2000 -100L0 -100Z`))).toBe('taken');
  });
});
