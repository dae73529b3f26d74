import { Button } from 'react-aria-components';
import { useLengthText } from '../../fields/use-length-text.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import { useSessionStore } from '../../store/session-store.ts';
import { beyondWords, flawWords, placeWords } from './place-words.ts';
import { endPlacing } from './use-placing.ts';
import './place-line.css';

/** Over the slab while the picture is placed by hand: where it lies, and what it lies over. */
export function PlaceLine() {
  const on = useSessionStore(({ placing, openStep }) => placing && openStep === 'picture');
  const { piece, photo } = usePieceStore();
  const length = useLengthText();
  if (!on || !photo) return null;
  const flaws = flawWords(piece, photo);
  const beyond = beyondWords(piece, photo, length);
  return (
    <div className="place-line">
      <div role="status">
        <p>{placeWords(piece, photo, length)}</p>
        {flaws && <p className="place-line-mind">{flaws}</p>}
        {beyond && <p className="place-line-mind">{beyond}</p>}
      </div>
      <Button className="quiet" onPress={endPlacing}>
        Done
      </Button>
    </div>
  );
}
