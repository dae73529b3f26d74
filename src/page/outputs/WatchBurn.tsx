import { Button } from 'react-aria-components';
import { useShown } from '../burn/proof-store.ts';
import { inBackground } from '../faults/tell-fault.ts';
import { BurnDialog } from '../render/mockup/BurnDialog.tsx';
import { openBurn } from '../render/mockup/burn-actions.ts';

/** Opens the burn, row by row. */
export function WatchBurn() {
  const { left: record } = useShown();
  const done = record?.status === 'done' && record.full !== null;
  return (
    <>
      <Button className="wide" isDisabled={!done} onPress={() => record && inBackground(openBurn(record))}>
        Open the burn
      </Button>
      <p className="hint">
        {done
          ? 'The slab as it stands after any minute of any pass, the time left, and what a stop does.'
          : 'Once the proof is finished.'}
      </p>
      <BurnDialog />
    </>
  );
}
