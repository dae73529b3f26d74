import { Button } from 'react-aria-components';
import { savePieceFile } from '../store/keeping.ts';
import { useKeeping } from '../store/keeping-store.ts';

/** Stays beside the name for as long as the latest changes are not kept. */
export function KeptMark() {
  const fault = useKeeping((state) => state.fault);
  return (
    fault !== null && (
      <p className="kept-mark">
        Not kept: {fault}.
        <Button className="quiet" onPress={savePieceFile}>
          Save it as a file
        </Button>
      </p>
    )
  );
}
