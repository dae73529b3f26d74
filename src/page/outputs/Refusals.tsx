import { Button } from 'react-aria-components';
import { type JobRefusal, remediedPiece } from '../../outputs/program/refusals.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** Why there is no file, each with the change that makes it possible where that is plain. */
export function Refusals({ refusals }: { refusals: readonly JobRefusal[] }) {
  const change = usePieceStore((state) => state.change);
  return (
    <div className="refusals" role="alert">
      {refusals.map(({ message, remedy }) => (
        <div className="warning" key={message}>
          <p>{message}</p>
          {remedy && (
            <Button className="remedy" onPress={() => change((piece) => remediedPiece(piece, remedy))}>
              {remedy.label}
            </Button>
          )}
        </div>
      ))}
    </div>
  );
}
