import { type Buffers, loadMesh, type Vector } from './gl/program.ts';
import type { Body } from './seen-lights.ts';
import type { Thing } from './things/solids.ts';

/** A thing on the graphics card. */
export interface Drawn extends Body {
  readonly thing: Thing;
  readonly ofSlab: boolean;
  /** With fewer triangles, for pictures in a hurry; by default the same. */
  readonly coarse: Buffers;
}

/** `hurried`: whether a rim is wanted with fewer triangles too. */
export function loadThing(gl: WebGL2RenderingContext, thing: Thing, ofSlab: boolean, hurried: boolean): Drawn {
  const { mesh, caster, place } = thing;
  const buffers = loadMesh(gl, mesh);
  return {
    thing,
    ofSlab,
    buffers,
    coarse: hurried && thing.stuff === 'rim' ? loadMesh(gl, { ...mesh, index: coarseBand(mesh.index) }) : buffers,
    caster: caster === null ? null : caster ? loadMesh(gl, caster) : buffers,
    place,
  };
}

export function unload({ buffers, caster, coarse }: Drawn): void {
  buffers.dispose();
  if (coarse !== buffers) coarse.dispose();
  if (caster !== buffers) caster?.dispose();
}

/** The face's border is rolled down by less than this. */
const FACE_ROLL_MM = 1;

/** Whether a flat side of the slab looks away from an eye. */
export function turnedAway({ thing, place }: Drawn, eye: Vector): boolean {
  const side = place[4] * (eye[0] - place[12]) + place[5] * (eye[1] - place[13]) + place[6] * (eye[2] - place[14]);
  return thing.stuff === 'face' ? side < -FACE_ROLL_MM : thing.stuff === 'back' && side > FACE_ROLL_MM;
}

const EACH_COLUMN = 3;

const EACH_RING = 2;

/** The triangles of a band of rings of vertices (as `buildRings` lays them) with fewer rings and columns, for pictures in a hurry. */
export function coarseBand(index: Uint32Array): Uint32Array {
  const columns = index[1] - index[0];
  const rings = index.length / 6 / (columns - 1) + 1;
  const every = (count: number, step: number): number[] => [
    ...Array.from({ length: Math.ceil((count - 1) / step) }, (_, i) => i * step),
    count - 1,
  ];
  const [rows, across] = [every(rings, EACH_RING), every(columns, EACH_COLUMN)];
  const out: number[] = [];
  for (let r = 0; r + 1 < rows.length; r++) {
    for (let c = 0; c + 1 < across.length; c++) {
      const [a, b] = [rows[r] * columns, rows[r + 1] * columns];
      const [left, right] = [across[c], across[c + 1]];
      out.push(a + left, b + left, a + right, a + right, b + left, b + right);
    }
  }
  return Uint32Array.from(out);
}
