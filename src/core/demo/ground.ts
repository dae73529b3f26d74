import { COTTAGE } from './cottage.ts';
import { noise } from './noise.ts';
import { mix, ramp } from './shapes.ts';

/** x of the waterline at a distance z: a small bay in front of the cottage, a point below it, a coast that falls back. */
function shoreline(z: number): number {
  const bay = 3.4 * ramp(30, 21, z);
  return -0.6 + bay + 5.2 * ramp(36, 62, z) + 0.7 * noise(0.23 * z, 0.5, 3.3);
}

function heightAt(x: number, z: number): number {
  const inland = x - shoreline(z);
  const bank = 1.5 * ramp(-0.5, 3, inland);
  const hill = 3.2 * ramp(44, 72, z) * ramp(2, 14, inland) + 0.9 * ramp(9, 20, inland);
  const flat = ramp(6.4, 4.4, Math.hypot((x - COTTAGE.x) * 0.8, z - COTTAGE.z));
  return mix(bank + hill - 0.35, COTTAGE.y - 0.03, flat * ramp(0, 2, inland));
}

/** How stony a place is, 0 turf … 1 bare stone: the bank along the water. */
function stonyAt(x: number, z: number): number {
  return ramp(2.9, 1.3, x - shoreline(z) + 0.9 * noise(0.8 * x, 0.8 * z, 1));
}

const PITCH = 0.125;
const X0 = -4;
const Z0 = 17;
const COLUMNS = 440;
const ROWS = 720;

/** A table of a function of the ground plan, made when first asked for; straight lines between its entries. */
function tabulate(at: (x: number, z: number) => number): (x: number, z: number) => number {
  let table: Float32Array | undefined;
  return (x, z) => {
    table ??= Float32Array.from({ length: COLUMNS * ROWS }, (_, i) =>
      at(X0 + PITCH * (i % COLUMNS), Z0 + PITCH * Math.floor(i / COLUMNS)),
    );
    const u = Math.min(COLUMNS - 1.001, Math.max(0, (x - X0) / PITCH));
    const v = Math.min(ROWS - 1.001, Math.max(0, (z - Z0) / PITCH));
    const i = Math.floor(u);
    const j = Math.floor(v);
    const cell = j * COLUMNS + i;
    const near = table[cell] + (table[cell + 1] - table[cell]) * (u - i);
    const far = table[cell + COLUMNS] + (table[cell + COLUMNS + 1] - table[cell + COLUMNS]) * (u - i);
    return near + (far - near) * (v - j);
  };
}

/** Height of the smooth ground above the water in metres. */
export const groundHeight = tabulate(heightAt);
/** Share of bare stone, 0–1. */
export const stoniness = tabulate(stonyAt);
