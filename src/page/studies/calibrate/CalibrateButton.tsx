import { Button } from 'react-aria-components';
import { lazyPart } from '../../faults/lazy-part.tsx';
import { setCalibrate, useCalibrateStore } from './calibrate-store.ts';

/** Loaded once it is wanted: most visits do without. */
const CalibrateDialog = lazyPart(() => import('./CalibrateDialog.tsx').then((module) => module.CalibrateDialog));

export function CalibrateButton() {
  return (
    <div>
      <Button className="wide" onPress={() => setCalibrate({ open: true })}>
        Calibrate with a card…
      </Button>
      <p className="hint">A small card burned on scrap shows how your paint and beam differ from typical values.</p>
    </div>
  );
}

/** The sheet itself; one for the whole page, whichever button opened it. */
export function CalibrateSheet() {
  const open = useCalibrateStore((state) => state.open);
  return open && <CalibrateDialog />;
}
