import { type Buffers, loadMesh } from './gl/buffers.ts';
import type { Vector } from './gl/matrix.ts';
import type { Body } from './seen-lights.ts';
import { coarseBand } from './things/coarse-band.ts';
import type { Thing } from './things/setting.ts';

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
