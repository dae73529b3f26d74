import { Button } from 'react-aria-components';
import type { Card } from '../../../vision/card/card.ts';
import { setCalibrate, useCalibrate } from './calibrate-store.ts';
import { ReadingList } from './ReadingList.tsx';
import { keepNotes } from './read-actions.ts';

export function EyePanel({ card }: { card: Card }) {
  const { notes } = useCalibrate((state) => state.work);
  if (card.kind === 'tones') {
    return <p className="plain">A tone card is read off a photograph: an eye cannot put a figure on a tone.</p>;
  }
  const seen = Object.entries(notes.ladders).flatMap(([name, { shows, clears, scorches }]) => {
    const parts = [
      shows !== null && `shows from ${shows}`,
      clears !== null && `clears from ${clears}`,
      scorches !== null && `scorches from ${scorches}`,
    ].filter(Boolean);
    return parts.length > 0 ? [`${card.ladders.length > 1 ? `${name}: ` : ''}${parts.join(', ')}`] : [];
  });
  const widths = Object.keys(notes.widths).length;
  if (widths > 0) seen.push(`${widths} ${widths === 1 ? 'width' : 'widths'}`);
  if (notes.pair !== null) seen.push(`pair ${notes.pair} lines up`);
  return (
    <>
      <p className="plain">
        {seen.length > 0
          ? `You see: ${seen.join('; ')}.`
          : 'Nothing chosen yet. An eye tells less than a photograph, but enough to begin with.'}
      </p>
      <Button
        className="wide sheet-main"
        isDisabled={seen.length === 0}
        onPress={() => {
          if (keepNotes()) setCalibrate({ part: 'fit' });
        }}
      >
        Keep this reading
      </Button>
      <ReadingList />
    </>
  );
}
