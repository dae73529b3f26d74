import { Matrix4, type PerspectiveCamera, Vector3, Vector4 } from 'three';
import type { SightState } from '../sight/sight-bus.ts';
import { fitOrbit, freeArea, halves, NO_PADDING, type Padding, type Viewport } from './fit.ts';
import { orbitOver } from './look-at.ts';
import {
  approachOrbit,
  FIELD_OF_VIEW_RAD,
  limitOrbit,
  type Orbit,
  type OrbitLimits,
  orbitAxes,
  orbitPosition,
  sameOrbit,
} from './orbit.ts';

const FIT_MARGIN = 0.06;
const NEAREST_MM = 6;
/** How fast the camera closes in on where it should be, per second: under the hand, and flying home. */
const HAND_RATE = 16;
const FLIGHT_RATE = 4.5;
const START: Orbit = { targetX: 0, targetZ: 0, distanceMm: 800, azimuthRad: 0, polarRad: 0.4 };

/** Keeps three's camera where the orbit says, gliding, and knows the view that shows the whole slab. */
export class CameraRig {
  size = { width: 1, height: 1 };
  /** Where the camera is now. */
  orbit: Orbit = START;
  /** Where it is going. */
  goal: Orbit = START;
  private home: Orbit = START;
  private atHome = true;
  private rate = HAND_RATE;
  private padding: Padding = NO_PADDING;
  private split = false;
  private hull: readonly [number, number, number][] = [];
  private readonly camera: PerspectiveCamera;

  constructor(camera: PerspectiveCamera) {
    this.camera = camera;
  }

  /** What has to fit into the stage: points of the slab. A camera that is at home stays there. */
  setHull(hull: readonly [number, number, number][]): void {
    this.hull = hull;
    this.refit();
  }

  setStage(size: { width: number; height: number }, padding: Padding): void {
    this.size = { width: Math.max(1, size.width), height: Math.max(1, size.height) };
    this.padding = padding;
    this.refit();
  }

  /** Whether the slab is seen twice, side by side, by cameras that are the same but for where their middle is. */
  setSplit(split: boolean): void {
    if (split === this.split) return;
    this.split = split;
    this.refit();
  }

  /** The part of the canvas that a side is shown in; both are the whole of it where nothing is split. */
  private pane(side: 0 | 1): Viewport {
    const whole = { ...this.size, ...this.padding };
    return this.split ? halves(whole)[side] : whole;
  }

  /** Canvas place, CSS pixels, where the right pane begins. */
  get seam(): number {
    return freeArea({ ...this.size, ...this.padding }).centreX;
  }

  private refit(): void {
    if (this.hull.length === 0) return;
    this.home = fitOrbit(this.hull, this.pane(0), FIT_MARGIN);
    if (!this.atHome) return;
    this.orbit = this.home;
    this.goal = this.home;
  }

  get limits(): OrbitLimits {
    return {
      nearestMm: NEAREST_MM,
      farthestMm: this.home.distanceMm * 1.8,
      reachX: 1.2 * Math.max(1, ...this.hull.map((point) => point[0])),
      reachZ: 1.2 * Math.max(1, ...this.hull.map((point) => point[2])),
    };
  }

  steer(orbit: Orbit, { glide = true, flight = false }: { glide?: boolean; flight?: boolean } = {}): void {
    this.goal = limitOrbit(orbit, this.limits);
    if (!glide) this.orbit = this.goal;
    this.rate = flight ? FLIGHT_RATE : HAND_RATE;
    this.atHome = false;
  }

  goHome(glide: boolean): void {
    const turns = Math.round((this.orbit.azimuthRad - this.home.azimuthRad) / (2 * Math.PI)) * 2 * Math.PI;
    this.orbit = { ...this.orbit, azimuthRad: this.orbit.azimuthRad - turns };
    this.steer(this.home, { glide, flight: true });
    this.atHome = true;
  }

  /** Flies to a place of the face, mm, of a size that is to fill a good part of the stage. */
  lookAt(x: number, z: number, sizeMm: number, glide: boolean): void {
    this.steer(orbitOver(x, z, sizeMm, this.pane(0), this.goal.azimuthRad), { glide, flight: true });
  }

  /** Moves on by some time; false if the camera has arrived already. */
  advance(seconds: number): boolean {
    if (sameOrbit(this.orbit, this.goal)) return false;
    this.orbit = approachOrbit(this.orbit, this.goal, seconds, this.rate);
    if (sameOrbit(this.orbit, this.goal)) this.orbit = this.goal;
    return true;
  }

  /** Puts three's camera in place. The view is shifted so that the middle of the free area is the middle of the picture. */
  place(side: 0 | 1 = 0): void {
    const { camera, size, orbit } = this;
    const { right, up, back } = orbitAxes(orbit);
    const { width, height } = size;
    const free = freeArea(this.pane(side));
    camera.fov = (FIELD_OF_VIEW_RAD * 180) / Math.PI;
    camera.aspect = width / height;
    camera.near = orbit.distanceMm * 0.04;
    camera.far = orbit.distanceMm * 2 + 8 * this.home.distanceMm;
    camera.setViewOffset(width, height, width / 2 - free.centreX, height / 2 - free.centreY, width, height);
    camera.position.set(...orbitPosition(orbit));
    camera.quaternion.setFromRotationMatrix(
      new Matrix4().makeBasis(new Vector3(...right), new Vector3(...up), new Vector3(...back)),
    );
    camera.updateMatrixWorld();
    camera.updateProjectionMatrix();
  }

  /** The point of the slab's face under a point of the canvas, or null above the horizon. */
  pick(xPx: number, yPx: number): { x: number; z: number } | null {
    this.place(this.split && xPx > this.seam ? 1 : 0);
    const { position } = this.camera;
    const { width, height } = this.size;
    const ray = new Vector3((xPx / width) * 2 - 1, 1 - (yPx / height) * 2, 0.5).unproject(this.camera).sub(position);
    if (ray.y >= -1e-6) return null;
    const reach = -position.y / ray.y;
    return { x: position.x + ray.x * reach, z: position.z + ray.z * reach };
  }

  /** What the handles over the canvas have to know; after `place`. */
  sight(): SightState {
    const free = freeArea({ ...this.size, ...this.padding });
    const stage = {
      left: free.centreX - free.width / 2,
      right: free.centreX + free.width / 2,
      top: free.centreY - free.height / 2,
      bottom: free.centreY + free.height / 2,
    };
    let west = Number.POSITIVE_INFINITY;
    let east = Number.NEGATIVE_INFINITY;
    const point = new Vector3();
    for (const corner of this.hull) {
      const x = ((point.set(...corner).project(this.camera).x + 1) / 2) * this.size.width;
      if (point.z > 1) continue;
      west = Math.min(west, x);
      east = Math.max(east, x);
    }
    west = Math.min(stage.right - 1, Math.max(stage.left, west));
    east = Math.max(west + 1, Math.min(stage.right, east));
    const { width, height } = this.size;
    const seen = this.camera.projectionMatrix.clone().multiply(this.camera.matrixWorldInverse);
    const place = new Vector4();
    return {
      toCanvas: (xMm, yMm) => {
        place.set(xMm, 0, yMm, 1).applyMatrix4(seen);
        if (place.w <= 0) return null;
        return { x: ((place.x / place.w + 1) / 2) * width, y: ((1 - place.y / place.w) / 2) * height };
      },
      toFace: (x, y) => {
        const hit = this.pick(x, y);
        return hit && [hit.x, hit.z];
      },
      sight: { azimuthRad: this.orbit.azimuthRad, polarRad: this.orbit.polarRad },
      stage,
      slab: { west, east },
    };
  }
}
