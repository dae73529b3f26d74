import { Button } from 'react-aria-components';
import { CAUTION_CLOSE, CAUTIONS } from '../../outputs/paper/cautions.ts';
import { useShown } from '../burn/proof-store.ts';
import { More } from '../fields/More.tsx';
import { UncalibratedMark } from '../fields/UncalibratedMark.tsx';
import { savePieceFile } from '../store/keeping.ts';
import { usePieceStore } from '../store/piece-store.ts';
import './hand-over.css';
import { BedControls } from '../physics/BedControls.tsx';
import { BenchSheet } from './BenchSheet.tsx';
import { BurnLog } from './BurnLog.tsx';
import { MachineJob } from './MachineJob.tsx';
import { MockUp } from './MockUp.tsx';
import { PicturesAndNumbers } from './PicturesAndNumbers.tsx';
import { Quote } from './Quote.tsx';
import { WatchBurn } from './WatchBurn.tsx';

export function HandOverStep() {
  const piece = usePieceStore((state) => state.piece);
  const { left: record } = useShown();
  const source = record?.piece.certainty.source;

  return (
    <>
      <Button className="wide" onPress={savePieceFile}>
        Save the piece
      </Button>
      <p className="hint">Everything in one file: slab, coats, photograph, machine, passes.</p>
      {source === 'preset' && (
        <p className="plain">
          What follows is predicted, <UncalibratedMark source={source} />: tell the client so.
        </p>
      )}
      <More label="For the machine" note="job files">
        <MachineJob />
      </More>
      <More label="For the bench" note="sheet to print">
        <BenchSheet />
      </More>
      <More label="Watch it burn" note="row by row">
        <WatchBurn />
      </More>
      <More label="For the client" note="mock-up and quote">
        <h3 className="client-part">Mock-up</h3>
        <MockUp />
        <h3 className="client-part">Quote</h3>
        <Quote />
      </More>
      <More label="What was burned" note={piece.log.length > 0 ? String(piece.log.length) : 'log'}>
        <BurnLog />
      </More>
      <More label="Pictures and numbers" note="files">
        <PicturesAndNumbers />
      </More>
      <More label="Place on the bed">
        <BedControls />
      </More>
      <section className="cautions" aria-label="Cautions">
        <h3>Before you burn</h3>
        <ul>
          {CAUTIONS.map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
        <p>{CAUTION_CLOSE}</p>
      </section>
    </>
  );
}
