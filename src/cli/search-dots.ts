import { createPreparation, type Photo } from '../burn/prepare.ts';
import type { Piece } from '../piece/schema.ts';
import { type CliIo, createProgress } from './io.ts';
import { createCliRunner } from './runner.ts';

/** Searches the dots of all passes that want it, on all cores, for whatever makes them ready afterwards. */
export async function searchDots(piece: Piece, photo: Photo, io: CliIo): Promise<void> {
  const passes = piece.passes.filter(({ screen }) => screen === 'direct-search');
  if (passes.length === 0) return;
  const progress = createProgress(io);
  const runner = await createCliRunner();
  const searcher = { lanes: runner.lanes, search: runner.search };
  try {
    for (const pass of passes) {
      const onShare = (share: number) => progress.show(share, 'dots');
      await createPreparation(true).search(photo, piece, pass, { searcher, onShare });
    }
  } finally {
    progress.clear();
    runner.dispose();
  }
}
