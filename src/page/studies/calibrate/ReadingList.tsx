import { Button } from 'react-aria-components';
import { usePieceStore } from '../../store/piece-store.ts';
import { editWork, setCalibrate, useCalibrateStore } from './calibrate-store.ts';
import { calibrationKey } from './card-actions.ts';

/** What was read so far. */
export function ReadingList() {
  const { readings } = useCalibrateStore((state) => state.work);
  const key = usePieceStore((state) => calibrationKey(state.piece));
  if (readings.length === 0) return null;
  return (
    <section className="calibrate-readings" aria-label="Readings">
      <h3>Readings</h3>
      <ul>
        {readings.map((one) => (
          <li key={`${one.card.kind} ${one.card.id}`}>
            <span>
              {one.title}
              {one.usedIn.includes(key) && <em className="mark">in the numbers</em>}
            </span>
            <Button
              className="quiet"
              aria-label={`Remove ${one.title}`}
              onPress={() => {
                editWork({ readings: readings.filter((other) => other !== one) });
                setCalibrate({ record: null });
              }}
            >
              Remove
            </Button>
          </li>
        ))}
      </ul>
    </section>
  );
}
