import { Button } from 'react-aria-components';
import { setProof, useProofStore } from './stores/proof-store.ts';

/** One message at a time, until it is put away or something else is to be said. */
export function Notice() {
  const notice = useProofStore((state) => state.notice);
  return (
    <div className="notice-place" role="status" aria-live="polite">
      {notice && (
        <div className="notice">
          <p>{notice}</p>
          <Button className="quiet" onPress={() => setProof({ notice: null })}>
            Put away
          </Button>
        </div>
      )}
    </div>
  );
}
