import { Button } from 'react-aria-components';
import { DEFAULT_TOP_COAT } from '../../piece/defaults.ts';
import { More } from '../fields/More.tsx';
import { changeStack } from '../store/piece-edits.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { CoatControls } from './CoatControls.tsx';
import { FilmControls } from './FilmControls.tsx';

const MOST_COATS = 8;

export function CoatsStep() {
  const stack = usePieceStore((state) => state.piece.stack);
  const coats = stack.coats;
  return (
    <>
      <p className="plain">
        {coats.length === 0
          ? 'Bare wood: the beam darkens it, so the dark tones are burned and the light ones left.'
          : 'Let every coat cure fully, as its data sheet says: uncured paint is tacky and burns badly.'}
      </p>
      {coats.map((_, index) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: coats have no identity but their place
        <CoatControls key={index} index={index} />
      ))}
      <Button
        className="wide"
        isDisabled={coats.length >= MOST_COATS}
        onPress={() =>
          changeStack((old) => ({ ...old, coats: [{ ...DEFAULT_TOP_COAT, name: 'New coat' }, ...old.coats] }))
        }
      >
        Add a coat on top
      </Button>
      <More label="Where the film is uneven">
        <FilmControls stack={stack} />
      </More>
    </>
  );
}
