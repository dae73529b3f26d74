import { describe, expect, it } from 'vitest';
import { slabHull, slabOutline } from '../../src/render/mesh/outline.ts';
import {
  approachOrbit,
  CameraRig,
  FIELD_OF_VIEW_RAD,
  fitOrbit,
  freeArea,
  limitOrbit,
  type Orbit,
  orbitPosition,
  POLAR_MAX_RAD,
  panOrbit,
  pixelSizeMm,
  sameOrbit,
  zoomOrbit,
} from '../../src/render/slab/camera-rig.ts';
import { Resolution } from '../../src/render/slab/view-core.ts';

const slab = { shape: 'oval', widthMm: 300, heightMm: 240, thicknessMm: 20, woodColor: [0.6, 0.5, 0.3] } as const;
const limits = { nearestMm: 6, farthestMm: 2000, reachX: 180, reachZ: 140 };
const start: Orbit = { targetX: 10, targetZ: -20, distanceMm: 700, azimuthRad: 0.3, polarRad: 0.5 };

/** A pinhole's picture, by turning about two axes: independent of the formulas under test. */
function project(orbit: Orbit, viewport: { width: number; height: number }, point: readonly [number, number, number]) {
  const turn = Math.atan2(orbitPosition(orbit)[0] - orbit.targetX, orbitPosition(orbit)[2] - orbit.targetZ);
  const [x, y, z] = [point[0] - orbit.targetX, point[1], point[2] - orbit.targetZ];
  const right = x * Math.cos(turn) - z * Math.sin(turn);
  const near = x * Math.sin(turn) + z * Math.cos(turn);
  const tilt = Math.acos(orbitPosition(orbit)[1] / orbit.distanceMm);
  const up = y * Math.sin(tilt) - near * Math.cos(tilt);
  const depth = orbit.distanceMm - (y * Math.cos(tilt) + near * Math.sin(tilt));
  const focal = viewport.height / 2 / Math.tan(FIELD_OF_VIEW_RAD / 2);
  return { x: viewport.width / 2 + (right / depth) * focal, y: viewport.height / 2 - (up / depth) * focal };
}

describe('fitting the slab into the stage', () => {
  it('keeps the whole slab in the free area and nearly fills it', () => {
    for (const viewport of [
      { width: 1440, height: 900, left: 0, right: 0, top: 0, bottom: 0 },
      { width: 1024, height: 768, left: 340, right: 0, top: 0, bottom: 150 },
      { width: 390, height: 844, left: 0, right: 0, top: 60, bottom: 300 },
    ]) {
      const orbit = fitOrbit(slabHull(slab), viewport, 0.06);
      const free = freeArea(viewport);
      const points = slabHull(slab).map((point) => project(orbit, viewport, point));
      const reachX = Math.max(...points.map((p) => Math.abs(p.x - viewport.width / 2))) / (free.width / 2);
      const reachY = Math.max(...points.map((p) => Math.abs(p.y - viewport.height / 2))) / (free.height / 2);
      expect(Math.max(reachX, reachY)).toBeLessThan(0.945);
      expect(Math.max(reachX, reachY)).toBeGreaterThan(0.92);
    }
  });

  it('still has an answer when the padding covers everything', () => {
    const orbit = fitOrbit(slabHull(slab), { width: 300, height: 200, left: 200, right: 200, top: 0, bottom: 0 }, 0.06);
    expect(Number.isFinite(orbit.distanceMm)).toBe(true);
  });
});

describe('moving the camera', () => {
  it('keeps the point under the pointer when it zooms', () => {
    const viewport = { width: 1000, height: 800 };
    const before = project(start, viewport, [60, 0, 35]);
    const after = project(zoomOrbit(start, 0.2, 60, 35, limits), viewport, [60, 0, 35]);
    expect(after.x).toBeCloseTo(before.x, 6);
    expect(after.y).toBeCloseTo(before.y, 6);
    const halfway = approachOrbit(start, zoomOrbit(start, 0.2, 60, 35, limits), 0.03, 16);
    expect(project(halfway, viewport, [60, 0, 35]).x).toBeCloseTo(before.x, 6);
  });

  it('moves the slab with the pointer', () => {
    const viewport = { width: 1000, height: 800 };
    const before = project(start, viewport, [start.targetX, 0, start.targetZ]);
    const moved = panOrbit(start, 40, 25, pixelSizeMm(start, viewport.height));
    const after = project(moved, viewport, [start.targetX, 0, start.targetZ]);
    expect(after.x - before.x).toBeCloseTo(40, 0);
    expect(Math.abs(after.y - before.y - 25)).toBeLessThan(1.5);
  });

  it('never goes below the table or beyond its limits', () => {
    const wild = { targetX: 1e6, targetZ: -1e6, distanceMm: 0.1, azimuthRad: 9, polarRad: 3 };
    expect(limitOrbit(wild, limits)).toEqual({
      targetX: 180,
      targetZ: -140,
      distanceMm: 6,
      azimuthRad: 9,
      polarRad: POLAR_MAX_RAD,
    });
  });

  it('arrives', () => {
    let orbit = start;
    const goal = { targetX: 0, targetZ: 0, distanceMm: 20, azimuthRad: -1, polarRad: 0.1 };
    for (let i = 0; i < 200 && !sameOrbit(orbit, goal); i++) orbit = approachOrbit(orbit, goal, 1 / 60, 16);
    expect(sameOrbit(orbit, goal)).toBe(true);
  });
});

describe('the outline', () => {
  it('has the slab’s true size, outward normals and closes', () => {
    for (const shape of ['oval', 'rectangle'] as const) {
      const outline = slabOutline({ ...slab, shape });
      expect(Math.max(...outline.map((p) => p.x))).toBeCloseTo(150, 1);
      expect(Math.min(...outline.map((p) => p.z))).toBeCloseTo(-120, 1);
      for (const p of outline) {
        expect(Math.hypot(p.normalX, p.normalZ)).toBeCloseTo(1, 9);
        expect(p.x * p.normalX + p.z * p.normalZ).toBeGreaterThan(0);
      }
      const longest = Math.max(
        ...outline.map((p, i) => Math.hypot(p.x - outline.at(i - 1)!.x, p.z - outline.at(i - 1)!.z)),
      );
      expect(longest).toBeLessThan(8);
    }
  });
});

describe('the resolution', () => {
  it('is full when nothing moves and drops only after several late frames', () => {
    const resolution = new Resolution(false);
    expect(resolution.pixelRatio(false, 3)).toBe(2);
    expect(resolution.pixelRatio(true, 3)).toBe(1);
    resolution.note(300);
    expect(resolution.pixelRatio(true, 3)).toBe(1);
    for (let i = 0; i < 30; i++) resolution.note(150);
    const slow = resolution.pixelRatio(true, 3);
    expect(slow).toBeLessThan(0.5);
    for (let i = 0; i < 60; i++) resolution.note(8);
    expect(resolution.pixelRatio(true, 3)).toBe(1);
  });
});

describe('two slabs side by side', () => {
  const size = { width: 1200, height: 800 };
  const padding = { left: 300, right: 20, top: 60, bottom: 140 };
  function rigged() {
    const rig = new CameraRig();
    rig.setHull(slabHull(slab));
    rig.setStage(size, padding);
    rig.setSplit(true);
    const seen = (side: 0 | 1, point: readonly [number, number, number]) => {
      const sight = rig.sightOf(side);
      const [x, y, , w] = [0, 1, 2, 3].map((k) => [...point, 1].reduce((sum, p, c) => sum + sight[4 * c + k] * p, 0));
      return { x: ((x / w + 1) / 2) * size.width, y: ((1 - y / w) / 2) * size.height };
    };
    return { rig, seen };
  }

  it('shows the same, only further right, each within its half', () => {
    const { rig, seen } = rigged();
    expect(rig.seam).toBe(300 + (1200 - 320) / 2);
    const shift = seen(1, [0, 0, 0]).x - seen(0, [0, 0, 0]).x;
    for (const { x, z } of slabOutline(slab)) {
      const left = seen(0, [x, 0, z]);
      const right = seen(1, [x, 0, z]);
      expect(right.x - left.x).toBeCloseTo(shift, 6);
      expect(right.y).toBeCloseTo(left.y, 6);
      expect(left.x).toBeGreaterThan(padding.left);
      expect(left.x).toBeLessThan(rig.seam);
      expect(right.x).toBeGreaterThan(rig.seam);
      expect(right.x).toBeLessThan(size.width - padding.right);
    }
  });

  it('finds the same place of the slab under either', () => {
    const { rig, seen } = rigged();
    for (const side of [0, 1] as const) {
      const at = seen(side, [40, 0, -25]);
      const hit = rig.pick(at.x, at.y);
      expect(hit?.x).toBeCloseTo(40, 4);
      expect(hit?.z).toBeCloseTo(-25, 4);
    }
  });
});
