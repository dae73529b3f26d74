import { useEffect } from 'react';
import { Button } from 'react-aria-components';
import { HONEST_NOTE } from '../../../render/mockup/client-file.ts';
import { MockupView } from '../../../render/mockup/MockupView.tsx';
import { inBackground } from '../../faults/lazy-part.tsx';
import { SheetDialog, SheetTable } from '../../fields/SheetDialog.tsx';
import { WorkStatus } from '../../fields/TaskProgress.tsx';
import { MockupPanel } from './MockupPanel.tsx';
import { closeMockup, openMockup } from './mockup-actions.ts';
import { drawing, setMockup, useMockupStore } from './mockup-store.ts';
import './mockup.css';

/** The finished slab as the client will see it, nearly as large as the page. */
export function MockupDialog() {
  const record = useMockupStore((state) => state.record);
  useEffect(() => closeMockup, []);
  return (
    <SheetDialog label="Mock-up for the client" isOpen={record !== null} onClose={closeMockup}>
      <Sheet />
    </SheetDialog>
  );
}

function Sheet() {
  const record = useMockupStore((state) => state.record);
  const shown = useMockupStore((state) => state.shown);
  const setting = useMockupStore((state) => state.setting);
  const lamp = useMockupStore((state) => state.lamp);
  const busy = drawing.use((state) => state.busy !== null);
  const name = record?.piece.name ?? '';
  return (
    <SheetTable title="Mock-up for the client" onClose={closeMockup}>
      <div className="sheet-place mockup-place">
        <div className="mockup-frame">
          {shown && (
            <MockupView
              slab={shown.slab}
              parts={shown.parts}
              look={shown.look}
              setting={setting}
              lamp={lamp}
              label={`${name}, finished.`}
              onDrawn={(stance) => {
                if (useMockupStore.getState().stance !== stance) setMockup({ stance });
              }}
              onFault={(message) => drawing.tell({ fault: message })}
            />
          )}
        </div>
        <p className="mockup-note">{HONEST_NOTE}</p>
      </div>
      <aside className="sheet-panel mockup-panel" aria-label="What the client sees and gets">
        <WorkStatus of={drawing} />
        {!shown && !busy && record && (
          <Button className="wide" onPress={() => inBackground(openMockup(record))}>
            Lay the proof on the slab
          </Button>
        )}
        <MockupPanel />
      </aside>
    </SheetTable>
  );
}
