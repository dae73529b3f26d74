import { Button } from 'react-aria-components';
import { encodePieceFile } from '../../core/piece/file.ts';
import { slabPerimeter } from '../../core/placement/perimeter.ts';
import { outlineToSvg } from '../../core/slab/svg.ts';
import { More } from '../controls/More.tsx';
import { UncalibratedMark } from '../controls/UncalibratedMark.tsx';
import { photoBytes } from '../photo-bytes.ts';
import { ask } from '../proof-client.ts';
import { saveFile } from '../save-file.ts';
import { usePieceStore } from '../stores/piece-store.ts';
import { setProof, useShown } from '../stores/proof-store.ts';
import type { PictureKind } from '../worker/questions.ts';
import { BedControls } from './BedControls.tsx';

export function HandOverStep() {
  const { piece, photo } = usePieceStore();
  const { left: record } = useShown();
  const done = record?.status === 'done';
  const source = record?.piece.certainty.source;
  const base = fileName(piece.name);

  const savePiece = () => {
    const bytes = photo && photoBytes(photo.key);
    const images = new Map(bytes ? [[piece.picture.file, bytes]] : []);
    const face = piece.slab.photo && photoBytes(piece.slab.photo.file);
    if (piece.slab.photo && face) images.set(piece.slab.photo.file, face);
    saveFile(`${base}.foreburn`, encodePieceFile({ piece, images }), 'application/zip');
  };
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
  const saveOutline = () =>
    saveFile(`${base}-outline.svg`, new TextEncoder().encode(outlineToSvg(slabPerimeter(piece.slab))), 'image/svg+xml');
  const saveReport = () => {
    if (!record?.result) return;
    const { summary, passes, direction, backend, stagesMs } = record.result;
    const report = { ...summary, direction, backend, passes, stagesMs, settings: record.piece };
    const text = `${JSON.stringify(report, null, 2)}\n`;
    saveFile(`${base}-report.json`, new TextEncoder().encode(text), 'application/json');
  };

  return (
    <>
      <Button className="wide" onPress={savePiece}>
        Save the piece
      </Button>
      <p className="hint">Everything in one file: slab, coats, photograph, machine, passes.</p>
      {source === 'preset' && (
        <p className="plain">
          What follows is predicted, <UncalibratedMark source={source} />: tell the client so.
        </p>
      )}
      <Button className="wide" isDisabled={!done} onPress={() => void savePicture('proof')}>
        Save the proof as PNG
      </Button>
      <p className="hint">At the row pitch, with its true size in the file.</p>
      <Button className="wide" isDisabled={!done} onPress={() => void savePicture('uncleared')}>
        Save the map of uncleared places
      </Button>
      <Button className="wide" isDisabled={!done} onPress={saveReport}>
        Save the numbers
      </Button>
      <p className="hint">Shares, depths, time and all settings, as JSON.</p>
      <Button className="wide" isDisabled={!photo} onPress={() => void savePrepared()}>
        Save the prepared picture
      </Button>
      <p className="hint">As the machine gets it: its true size in the file, transparent where nothing burns.</p>
      <Button className="wide" onPress={saveOutline}>
        Save the slab’s outline
      </Button>
      <p className="hint">An SVG drawing in millimetres.</p>
      <More label="Place on the bed">
        <BedControls />
      </More>
      <section className="cautions" aria-label="Cautions">
        <h3>Before you burn</h3>
        <ul>
          <li>A class 4 beam: keep the enclosure shut, or wear eyewear made for the wavelength.</li>
          <li>Never leave a burn alone; keep an extinguisher at hand.</li>
          <li>Extract the fumes outdoors.</li>
          <li>Know what is in the paint: no PVC or chlorinated polymers, no lead. Test old paint.</li>
          <li>Let every coat cure fully.</li>
        </ul>
        <p>
          Follow the makers’ manuals, safety data sheets, local rules and trained advice. Foreburn predicts how a slab
          will look; it does not certify that burning it is safe.
        </p>
      </section>
    </>
  );
}

const fileName = (name: string): string =>
  name
    .trim()
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, '-')
    .replace(/^-+|-+$/g, '') || 'piece';
