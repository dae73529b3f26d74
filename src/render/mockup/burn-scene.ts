import type { BurnPlace, PassCourse } from '../../physics/raster/pass-time.ts';
import { moved } from '../engine/matrix.ts';
import type { BurnState, FaceLook, MockupScene } from './mockup-scene.ts';
import { block, lathe, type Thing } from './things/solids.ts';

/** How far the head's nozzle stands over the slab, mm. */
const GAP_MM = 14;

/** A machine's head of our own drawing, its beam at the origin on the slab's face. */
function burnHead(): Thing[] {
  const shell = [0.055, 0.052, 0.05] as const;
  return [
    {
      mesh: lathe([
        [0.1, GAP_MM],
        [3, GAP_MM],
        [5.5, GAP_MM + 4],
        [9, GAP_MM + 12],
        [9, GAP_MM + 20],
        [0.1, GAP_MM + 20],
      ]),
      stuff: 'matte',
      place: moved([0, 0, 0]),
      color: [0.3, 0.29, 0.28],
      alpha: 0.3,
      caster: null,
    },
    {
      mesh: block(34, 46, 34, 3),
      stuff: 'matte',
      place: moved([0, GAP_MM + 43, -6]),
      color: shell,
      alpha: 0.35,
      caster: null,
    },
    {
      mesh: lathe(
        [
          [0.05, 0.1],
          [0.5, 0.1],
          [0.35, GAP_MM * 0.6],
          [0.2, GAP_MM],
        ],
        10,
      ),
      stuff: 'glow',
      place: moved([0, 0, 0]),
      color: [1, 0.86, 0.62],
      alpha: 1,
      caster: null,
    },
  ];
}

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
