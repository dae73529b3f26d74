import { Cancelled } from '../../base/cancelled.ts';
import type { Crop } from '../../burn/crop-proof.ts';
import type { Piece } from '../../piece/schema.ts';
import { ask } from '../burn/proof-client.ts';
import { type BurnedGrid, cellsOf, type GridPlan, setGrid, useGridStore } from './grid-store.ts';

/** Cells under way at once: while one burns the next is prepared. */
const LANES = 2;

/** Burns a grid cell by cell into the store; one that is under way is given up. */
export async function burnGrid(
  plan: GridPlan & { readonly crop: Crop },
  piece: Piece,
  photoKey: string,
): Promise<void> {
  useGridStore.getState().burning?.abort();
  const burning = new AbortController();
  const { signal } = burning;
  const start = performance.now();
  const cells = cellsOf(plan, piece);
  setGrid({ grid: { plan, piece, photoKey, cells, tookMs: null }, burning, fault: null, said: null });
  const edit = (change: (grid: BurnedGrid) => BurnedGrid) =>
    setGrid((state) => (state.burning === burning && state.grid ? { grid: change(state.grid) } : {}));
  let next = 0;
  const lane = async (): Promise<void> => {
    while (next < cells.length) {
      const index = next;
      next++;
      const answer = await ask('crop', { piece: cells[index].piece, photoKey, crop: plan.crop }, { signal });
      edit((grid) => ({ ...grid, cells: grid.cells.map((cell, i) => (i === index ? { ...cell, answer } : cell)) }));
    }
  };
  try {
    await Promise.all(Array.from({ length: LANES }, lane));
    edit((grid) => ({ ...grid, tookMs: performance.now() - start }));
  } catch (error) {
    burning.abort();
    const fault = error instanceof Cancelled ? null : error instanceof Error ? error.message : String(error);
    setGrid((state) => (state.burning === burning ? { fault } : {}));
  }
  setGrid((state) => (state.burning === burning ? { burning: null } : {}));
}
