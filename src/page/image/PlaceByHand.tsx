import { ToggleButton } from 'react-aria-components';
import { PLACE_BUTTON_ID } from '../render/stage/use-placing.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { setSession, useSessionStore } from '../store/session-store.ts';

/** Begins and ends placing the picture with the hand, on the slab itself. */
export function PlaceByHand() {
  const placing = useSessionStore((state) => state.placing);
  const photo = usePieceStore((state) => state.photo !== null);
  return (
    <div>
      <ToggleButton
        id={PLACE_BUTTON_ID}
        className="wide"
        isDisabled={!photo}
        isSelected={placing}
        onChange={(on) => setSession({ placing: on })}
      >
        {placing ? 'Done placing' : 'Place it on the slab…'}
      </ToggleButton>
      <p className="hint">
        {placing
          ? 'Drag it, pull its corners, turn it by its handle. It rests on the middle and on straight; Alt lets it lie anywhere. Knots show through.'
          : 'Drag, scale and turn the picture on the slab itself; knots and open checks show through.'}
      </p>
    </div>
  );
}
