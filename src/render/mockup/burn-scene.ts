import type { BurnPlace, PassCourse } from '../../physics/raster/burn-clock.ts';
import { moved } from './gl/matrix.ts';
import type { BurnState, FaceLook, MockupScene } from './mockup-scene.ts';
import { burnHead } from './things/head.ts';

/** The faces of a burn: before it, and after each of its passes. */
export type BurnFaces = readonly FaceLook[];

/** The picture's place on the slab, mm from its centre. */
export interface BurnFrame {
  readonly westMm: number;
  readonly northMm: number;
  readonly thicknessMm: number;
}

/** Shows a slab as it stands in the middle of a burn, with the head over it. */
export class BurnScene {
  private pass = -1;
  private readonly scene: MockupScene;
  private readonly faces: BurnFaces;
  private readonly courses: readonly PassCourse[];
  private readonly frame: BurnFrame;

  constructor(scene: MockupScene, faces: BurnFaces, courses: readonly PassCourse[], frame: BurnFrame) {
    this.scene = scene;
    this.faces = faces;
    this.courses = courses;
    this.frame = frame;
    scene.setExtras(burnHead());
  }

  show(place: BurnPlace): void {
    const { scene, faces, courses, frame } = this;
    if (place.pass !== this.pass) {
      scene.setFace(faces[place.pass]);
      scene.setBurned(faces[place.pass + 1]);
      this.pass = place.pass;
    }
    const { row, column } = courses[place.pass].raster;
    // From places in the picture to places on the slab.
    const shifted = (way: readonly [number, number, number]): [number, number, number] => [
      way[0] - way[1] * frame.westMm - way[2] * frame.northMm,
      way[1],
      way[2],
    ];
    const state: BurnState = {
      row: shifted(row),
      column: shifted(column),
      atRow: place.row + 0.5,
      atColumn: place.column,
      forwards: place.forwards,
      firing: place.firing && place.leftS > 0,
    };
    scene.setBurn(state);
    const [x, z] = placeOf(state);
    const done = place.leftS <= 0 || place.row < 0;
    scene.moveExtras(moved([x, frame.thicknessMm + (done ? 1e5 : 0), z]));
  }
}

/** The place on the slab that a row and a column meet at. */
function placeOf({ row, column, atRow, atColumn }: BurnState): [number, number] {
  const determinant = column[1] * row[2] - column[2] * row[1];
  const u = atColumn - column[0];
  const v = atRow - row[0];
  return [(row[2] * u - column[2] * v) / determinant, (-row[1] * u + column[1] * v) / determinant];
}
