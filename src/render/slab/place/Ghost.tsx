import { type CSSProperties, useEffect, useLayoutEffect, useRef } from 'react';
import { boxCorners, type PlacedBox } from '../../../physics/bed/placed-box.ts';
import type { SightBus, SightState } from '../sight/sight-bus.ts';

interface GhostProps {
  image: ImageBitmap;
  box: PlacedBox;
  crop: 'rectangle' | 'oval';
  bus: SightBus;
}

const style: CSSProperties = {
  position: 'absolute',
  left: 0,
  top: 0,
  transformOrigin: '0 0',
  // As the slab will have it: without colours, and so thin that what lies below is seen.
  filter: 'grayscale(1)',
  opacity: 0.62,
};

/** The photograph, half transparent, as it lies on the slab. */
export function Ghost({ image, box, crop, bus }: GhostProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const latest = useRef(box);
  latest.current = box;
  const place = useRef((state: SightState) => {
    if (canvas.current) canvas.current.style.transform = transformOf(canvas.current, state, latest.current);
  });
  useEffect(() => {
    if (!canvas.current) return;
    canvas.current.width = image.width;
    canvas.current.height = image.height;
    canvas.current.getContext('2d')?.drawImage(image, 0, 0);
    place.current(bus.current);
  }, [image, bus]);
  useEffect(() => bus.subscribe((state) => place.current(state)), [bus]);
  useLayoutEffect(() => place.current(bus.current));
  return <canvas ref={canvas} style={{ ...style, clipPath: crop === 'oval' ? 'ellipse(50% 50%)' : undefined }} />;
}

/** What brings the canvas's corners to where the box's are seen; nothing is shown where one lies behind the camera. */
function transformOf({ width, height }: HTMLCanvasElement, { toCanvas }: SightState, box: PlacedBox): string {
  const seen = boxCorners(box).map(([x, y]) => toCanvas(x, y));
  if (!seen.every((corner) => corner !== null)) return 'scale(0)';
  return `${squareTo(seen)} scale(${1 / width}, ${1 / height})`;
}

/**
 * The projective map of the unit square to four corners (left top, right top, right bottom, left bottom) as CSS writes it.
 * P. S. Heckbert, "Fundamentals of texture mapping and image warping", 1989, section 2.2.3.
 */
function squareTo([a, b, c, d]: readonly { readonly x: number; readonly y: number }[]): string {
  const [dx1, dx2, sx] = [b.x - c.x, d.x - c.x, a.x - b.x + c.x - d.x];
  const [dy1, dy2, sy] = [b.y - c.y, d.y - c.y, a.y - b.y + c.y - d.y];
  const area = dx1 * dy2 - dx2 * dy1;
  const g = (sx * dy2 - dx2 * sy) / area;
  const h = (dx1 * sy - sx * dy1) / area;
  const columns = [
    [b.x - a.x + g * b.x, b.y - a.y + g * b.y, 0, g],
    [d.x - a.x + h * d.x, d.y - a.y + h * d.y, 0, h],
    [0, 0, 1, 0],
    [a.x, a.y, 0, 1],
  ];
  return `matrix3d(${columns.flat().join()})`;
}
