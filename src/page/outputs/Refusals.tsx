import { Button } from 'react-aria-components';
import { type JobRefusal, remediedPiece } from '../../outputs/program/refusals.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** Why there is no file, each with the change that makes it possible where that is plain. */
export function Refusals({ refusals }: { refusals: readonly JobRefusal[] }) {
  const change = usePieceStore((state) => state.change);
  return (
    <div className="refusals" role="alert">
      {refusals.map(({ message, mend }) => (
        <div className="warning" key={message}>
          <p>{message}</p>
          {mend && (
            <Button className="mend" onPress={() => change((piece) => remediedPiece(piece, mend))}>
              {mend.label}
            </Button>
          )}
        </div>
      ))}
    </div>
  );
}
