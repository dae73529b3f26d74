import { useState } from 'react';
import { Button, FileTrigger } from 'react-aria-components';
import { LIMITS } from '../../base/limits.ts';
import { parseFilmMap, withFilmMap } from '../../physics/film/film-map.ts';
import type { FoundFilm } from '../../piece/found-film.ts';
import { inBackground } from '../faults/tell-fault.ts';
import { changeStack } from '../store/piece-edits.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** A film that was measured, or found in a photograph of the burned piece: taken in from a file, or forgotten. */
export function MeasuredFilm({ found }: { found: FoundFilm | null }) {
  const change = usePieceStore((state) => state.change);
  const [fault, setFault] = useState<string | null>(null);
  const take = async (file: File) => {
    try {
      if (file.size > LIMITS.drawingBytes) throw new Error('this file is too large for a film map');
      const map = parseFilmMap(new Uint8Array(await file.arrayBuffer()));
      change((piece) => withFilmMap(piece, map));
      setFault(null);
    } catch (error) {
      setFault(`${file.name}: ${(error as Error).message}`);
    }
  };
  return (
    <>
      {found && (
        <p className="plain">
          A film measured at {found.tiles.columns} × {found.tiles.rows} places lies under this proof.
        </p>
      )}
      <FileTrigger
        acceptedFileTypes={['.csv', '.txt', '.npy']}
        onSelect={(files) => {
          if (files?.[0]) inBackground(take(files[0]));
        }}
      >
        <Button className="quiet">Take in a measured film…</Button>
      </FileTrigger>
      {found && (
        <Button
          className="quiet"
          onPress={() => changeStack((old) => ({ ...old, film: { ...old.film, found: null, shown: 'mean' } }))}
        >
          Forget it
        </Button>
      )}
      <div aria-live="polite">{fault && <p className="warning">{fault}</p>}</div>
      <p className="hint">
        A table (CSV) or a NumPy array of the top coat’s dry thickness in µm, spread over the box round the slab, its
        first row at the far edge.
      </p>
    </>
  );
}
