import { Button } from 'react-aria-components';
import { useShown } from '../burn/proof-store.ts';
import { inBackground } from '../faults/tell-fault.ts';
import { MockupDialog } from '../render/mockup/MockupDialog.tsx';
import { openMockup } from '../render/mockup/mockup-actions.ts';

/** Opens the finished slab in its settings, with all that can be saved of it. */
export function MockUp() {
  const { left: record } = useShown();
  const done = record?.status === 'done' && record.full !== null;
  return (
    <>
      <Button className="wide" isDisabled={!done} onPress={() => record && inBackground(openMockup(record))}>
        Open the mock-up
      </Button>
      <p className="hint">
        {done
          ? 'The finished slab on a shelf, beside a cup, on a wall: stills, clips, models, and a file for the client.'
          : 'Once the proof is finished.'}
      </p>
      <MockupDialog />
    </>
  );
}
