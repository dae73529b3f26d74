import { describe, expect, it } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { drawFace, faceNormals, matteColors, packedRelief } from '../../src/render/model/face-map.ts';
import { factsOf } from '../../src/render/model/of-piece.ts';
import { plainPicture } from '../../src/render/model/plain-picture.ts';
import { slabParts } from '../../src/render/model/slab-parts.ts';
import { evenSurface, SMALL_PARTS, SMALL_SLAB, smallFace } from '../helpers/small-face.ts';

const at = (face: { width: number; color: Uint8Array; relief: Uint8Array }, x: number, y: number) => {
  const i = 4 * (y * face.width + x);
  return { color: [...face.color.subarray(i, i + 3)], relief: [...face.relief.subarray(i, i + 3)] };
};

describe('the face of a slab as a picture', () => {
  const face = smallFace();
  const heightOf = (code: number) => face.lowUm + (code / 255) * (face.highUm - face.lowUm);

  it('has the proof inside its picture and the ground round it, at their places', () => {
    expect([face.width, face.height]).toEqual([120, 96]);
    // The picture is 40 × 30 mm round (4, −3): from 14 to 54 mm across, from 6 to 36 mm down.
    expect(at(face, 29, 40).color).toEqual([210, 196, 176]);
    expect(at(face, 25, 40).color).toEqual([70, 50, 40]);
    expect(at(face, 107, 40).color).toEqual([210, 196, 176]);
    expect(at(face, 109, 40).color).toEqual([70, 50, 40]);
    expect(at(face, 60, 13).color).toEqual([210, 196, 176]);
    expect(at(face, 60, 10).color).toEqual([70, 50, 40]);
  });

  it('keeps heights within half a code, and gives open places the gloss of what lies open', () => {
    const step = (face.highUm - face.lowUm) / 255;
    expect(Math.abs(heightOf(at(face, 60, 40).relief[0]) + 20)).toBeLessThanOrEqual(step / 2 + 1e-3);
    expect(Math.abs(heightOf(at(face, 5, 5).relief[0]))).toBeLessThanOrEqual(step / 2 + 1e-3);
    expect(at(face, 60, 40).relief[1]).toBe(Math.round(255 * 0.35));
    expect(at(face, 5, 5).relief[1]).toBe(Math.round(255 * 0.2));
  });

  it('crops to an oval', () => {
    const oval = drawFace({ ...SMALL_PARTS, crop: 'oval' }, 120);
    expect(at(oval, 68, 42).color).toEqual([210, 196, 176]);
    expect(at(oval, 30, 14).color).toEqual([70, 50, 40]);
  });

  it('averages dots as light, not as codes', () => {
    const proof = evenSurface(200, 150, 0.2, [255, 255, 255, 0]);
    for (const swath of proof.swaths) {
      for (let i = 0; i < swath.color.length / 4; i++) if (i % 2) swath.color.fill(0, 4 * i, 4 * i + 3);
    }
    const mean = at(drawFace({ ...SMALL_PARTS, proof }, 75), 40, 30).color[0];
    // Half the light is code 188, half the codes 128 (IEC 61966-2-1).
    expect(Math.abs(mean - 188)).toBeLessThanOrEqual(2);
  });

  it('turns slopes that are lost into roughness', () => {
    const waves = (x: number) => 10 * Math.sin((2 * Math.PI * x) / 5);
    const proof = evenSurface(200, 150, 0.2, [210, 196, 176, 0], waves);
    // Mean square slope of central differences: (10 µm · sin(2π/5) / 0.2 mm)² / 2; its own share of the variance is for one axis.
    const expected = Math.sqrt(0.35 ** 2 + ((10e-3 * Math.sin((2 * Math.PI) / 5)) / 0.2) ** 2 / 2);
    expect(at(drawFace({ ...SMALL_PARTS, proof }, 60), 30, 20).relief[1] / 255).toBeCloseTo(expected, 2);
  });

  it('refuses a surface with rows missing', () => {
    const proof = evenSurface(200, 150, 0.2, [1, 2, 3, 0]);
    expect(() => drawFace({ ...SMALL_PARTS, proof: { ...proof, swaths: proof.swaths.slice(1) } }, 60)).toThrow(
      RangeError,
    );
  });
});

describe('pictures for other renderers', () => {
  it('tilt away from what rises', () => {
    const proof = evenSurface(200, 150, 0.2, [210, 196, 176, 0], (x) => 0.4 * x - 40);
    const face = drawFace({ ...SMALL_PARTS, proof }, 120);
    const { data } = faceNormals(face, 0.5);
    const i = 4 * (40 * 120 + 60);
    // Rising to the east at 0.4 µm in 0.2 mm: the normal leans west by 0.002.
    const mean = Array.from({ length: 20 }, (_, k) => data[i + 4 * k]).reduce((sum, code) => sum + code, 0) / 20;
    expect((127.5 - mean) / 127.5).toBeCloseTo(0.002, 2);
    expect(data[i + 2]).toBe(255);
  });

  it('leave the mirror reflection to the renderer', () => {
    // Code 255 is 1, less 4 % is 0.96: code 250. Code 188 is 0.503, less 4 % 0.463: code 181. Black stays black.
    expect([...matteColors(Uint8Array.of(255, 0, 188, 7))]).toEqual([250, 0, 181, 7]);
  });

  it('keep heights exactly where they are packed', () => {
    const face = smallFace();
    const packed = packedRelief(face);
    for (let i = 0; i < packed.data.length; i += 4) expect(packed.data[i]).toBe(face.relief[i]);
  });
});

describe('the parts of a slab', () => {
  const parts = slabParts(SMALL_SLAB);
  const edges = (index: Uint32Array, position: Float32Array): Map<string, number> => {
    const key = (i: number) => [0, 1, 2].map((k) => position[3 * i + k].toFixed(3)).join();
    const found = new Map<string, number>();
    for (let i = 0; i < index.length; i += 3) {
      for (let k = 0; k < 3; k++) {
        const name = `${key(index[i + k])} ${key(index[i + ((k + 1) % 3)])}`;
        found.set(name, (found.get(name) ?? 0) + 1);
      }
    }
    return found;
  };

  it('face outwards: up, out, down', () => {
    for (let i = 1; i < parts.face.normal.length; i += 3) expect(parts.face.normal[i]).toBeGreaterThan(0);
    for (let i = 1; i < parts.back.normal.length; i += 3) expect(parts.back.normal[i]).toBe(-1);
    for (const { index, position } of [parts.face, parts.back, parts.rim]) {
      // No edge is walked twice the same way: all triangles turn alike.
      expect(Math.max(...edges(index, position).values())).toBe(1);
    }
  });

  it('have unit tangents at right angles to their normals, and pictures in reach', () => {
    for (const { normal, tangent, uv } of [parts.face, parts.rim]) {
      for (let v = 0; v < normal.length / 3; v++) {
        const [x, y, z, w] = tangent.subarray(4 * v, 4 * v + 4);
        expect(Math.hypot(x, y, z)).toBeCloseTo(1, 4);
        expect(Math.abs(w)).toBe(1);
        expect(Math.abs(x * normal[3 * v] + y * normal[3 * v + 1] + z * normal[3 * v + 2])).toBeLessThan(0.02);
        expect(uv[2 * v]).toBeGreaterThanOrEqual(0);
        expect(uv[2 * v]).toBeLessThanOrEqual(1);
      }
    }
  });
});

describe('a plain picture', () => {
  const slab = { ...createPiece('', '').slab, widthMm: 60, heightMm: 48, shape: 'oval' as const };
  it('shows the face’s colour under an even light, and paper round it', () => {
    const picture = plainPicture(slab, smallFace(), { azimuthRad: 5.5, elevationRad: 0.6 }, 300);
    const code = (x: number, y: number) => [
      ...picture.data.subarray(4 * (y * picture.width + x), 4 * (y * picture.width + x) + 3),
    ];
    const centre = code(150, Math.round(picture.height / 2) - 12);
    [210, 196, 176].forEach((wanted, k) => {
      expect(Math.abs(centre[k] - wanted)).toBeLessThanOrEqual(2);
    });
    const corner = code(2, 2);
    expect(corner[0]).toBeGreaterThan(150);
  });
});

describe('what a client is told', () => {
  it('names wood, size and paint', () => {
    const piece = createPiece('A piece', 'a.jpg');
    const facts = factsOf(piece);
    expect(facts[0]).toContain(piece.slab.wood.name);
    expect(facts[0]).toContain(`${piece.slab.widthMm} × ${piece.slab.heightMm} mm`);
    expect(facts[1]).toContain(piece.stack.coats[0].name);
    expect(factsOf({ ...piece, stack: { ...piece.stack, coats: [] } })[1]).toContain('bare wood');
  });
});
