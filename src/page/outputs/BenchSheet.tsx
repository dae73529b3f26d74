import { useState } from 'react';
import { Button, Input, Label, TextField } from 'react-aria-components';
import { benchSheet } from '../../outputs/paper/bench-sheet.ts';
import { codeDrawing } from '../../outputs/paper/code-drawing.ts';
import { proofSentences } from '../../outputs/proof-sentences.ts';
import { ask } from '../burn/proof-client.ts';
import { useShown } from '../burn/proof-store.ts';
import { inBackground } from '../faults/tell-fault.ts';
import { fileName } from '../files/file-name.ts';
import { codeAddress, keepByCode } from '../store/kept-pieces.ts';
import { openCode } from '../store/open-first.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { PaperButtons } from './PaperButtons.tsx';
import { paperPicture } from './paper-picture.ts';

function OpenByCode() {
  const [typed, setTyped] = useState('');
  return (
    <form
      className="code-form"
      onSubmit={(event) => {
        event.preventDefault();
        inBackground(openCode(typed).then((opened) => opened && setTyped('')));
      }}
    >
      <TextField className="text-field" value={typed} onChange={setTyped} maxLength={20}>
        <Label>Code of a sheet</Label>
        <Input placeholder="7KQ2-M0XB" autoComplete="off" />
      </TextField>
      <Button type="submit" className="quiet" isDisabled={typed.trim() === ''}>
        Open
      </Button>
    </form>
  );
}

/** The paper that lies beside the machine. */
export function BenchSheet() {
  const photo = usePieceStore((state) => state.photo);
  const { left: record } = useShown();
  const result = record?.status === 'done' ? record.result : null;
  const make = async () => {
    if (!record || !result || !photo) throw new Error('Wait until the proof is done.');
    const { piece } = record;
    const code = await keepByCode({ piece, photo });
    const calibrated = piece.certainty.source === 'calibrated';
    const [proofUrl, ladder] = await Promise.all([
      paperPicture(record.id, photo.width / photo.height),
      calibrated ? [] : ask('ladder', { piece, photoKey: photo.key }),
    ]);
    return benchSheet({
      piece,
      photo,
      times: result.passes,
      proofUrl,
      predicted: proofSentences(result.summary, record.sure, piece.certainty.source),
      ladder,
      code,
      codeSvg: codeDrawing(codeAddress(code)),
    });
  };
  return (
    <>
      <PaperButtons
        what="bench sheet"
        fileName={`${fileName(record?.piece.name ?? '')}-bench-sheet`}
        isDisabled={!result}
        make={make}
      />
      <p className="hint">
        Coats and amounts, settings, order of work, placement, powers to try first, cautions, room for what came out.
        Its code opens this piece again on this computer.
      </p>
      <OpenByCode />
    </>
  );
}
