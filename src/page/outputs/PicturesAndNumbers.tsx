import { Button } from 'react-aria-components';
import { ask } from '../burn/proof-client.ts';
import { setProof, useShown } from '../burn/proof-store.ts';
import type { PictureKind } from '../burn/worker/questions.ts';
import { inBackground } from '../faults/tell-fault.ts';
import { fileName } from '../files/file-name.ts';
import { saveFile } from '../files/save-file.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** The proof, its map, its numbers and the prepared picture as files. */
export function PicturesAndNumbers() {
  const { piece, photo } = usePieceStore();
  const { left: record } = useShown();
  const done = record?.status === 'done';
  const base = fileName(piece.name);
  const savePicture = async (which: PictureKind) => {
    if (!record) return;
    const png = await ask('picture', { id: record.id, which }).catch(() => null);
    if (png) saveFile(`${base}-${which}.png`, png, 'image/png');
    else setProof({ notice: 'The picture could not be made; compute the proof once more and try again.' });
  };
  const savePrepared = async () => {
    if (!photo) return;
    const png = await ask('prepared', { piece, photoKey: photo.key }).catch(() => null);
    if (png) saveFile(`${base}-prepared.png`, png, 'image/png');
    else setProof({ notice: 'The picture could not be prepared; open the photograph once more and try again.' });
  };
  const saveReport = () => {
    if (!record?.result) return;
    const { summary, passes, direction, backend, stagesMs } = record.result;
    const { map: _, ...bands } = record.sure ?? { map: null };
    const report = {
      ...summary,
      bands: record.sure && bands,
      direction,
      backend,
      passes,
      stagesMs,
      settings: record.piece,
    };
    const text = `${JSON.stringify(report, null, 2)}\n`;
    saveFile(`${base}-report.json`, new TextEncoder().encode(text), 'application/json');
  };

  return (
    <>
      <Button className="wide" isDisabled={!done} onPress={() => inBackground(savePicture('proof'))}>
        Save the proof as PNG
      </Button>
      <p className="hint">At the row pitch, with its true size in the file.</p>
      <Button className="wide" isDisabled={!done} onPress={() => inBackground(savePicture('uncleared'))}>
        Save the map of uncleared places
      </Button>
      <Button className="wide" isDisabled={!done} onPress={saveReport}>
        Save the numbers
      </Button>
      <p className="hint">Shares, depths, time and all settings, as JSON.</p>
      <Button className="wide" isDisabled={!photo} onPress={() => inBackground(savePrepared())}>
        Save the prepared picture
      </Button>
      <p className="hint">As the machine gets it: its true size in the file, transparent where nothing burns.</p>
    </>
  );
}
