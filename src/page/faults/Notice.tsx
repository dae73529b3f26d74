import { Button } from 'react-aria-components';
import { setProof, useProofStore } from '../burn/proof-store.ts';

/** One message at a time, until it is put away or something else is to be said; with what can be done about it. */
export function Notice() {
  const notice = useProofStore((state) => state.notice);
  const { text, offers } =
    typeof notice === 'string' ? { text: notice, offers: [] } : (notice ?? { text: '', offers: [] });
  const putAway = () => setProof({ notice: null });
  return (
    <div className="notice-place" role="status" aria-live="polite">
      {text && (
        <div className="notice">
          <p>{text}</p>
          {offers.map(({ label, onPress }) => (
            <Button
              key={label}
              className="notice-offer"
              onPress={() => {
                putAway();
                onPress();
              }}
            >
              {label}
            </Button>
          ))}
          <Button className="quiet" onPress={putAway}>
            Put away
          </Button>
        </div>
      )}
    </div>
  );
}
