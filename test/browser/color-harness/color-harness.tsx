import { useState } from 'react';
import { createRoot } from 'react-dom/client';
import { ColorControl } from '../../../src/page/fields/ColorControl.tsx';
import { KinshipLine } from '../../../src/page/physics/CoatControls.tsx';
import { DEFAULT_TOP_COAT, woodOf } from '../../../src/piece/defaults.ts';

/** The colour control of a top coat alone on a page. What it holds is told in #held for the test. */
function Harness() {
  const [coat, setCoat] = useState(DEFAULT_TOP_COAT);
  const change = (part: Partial<typeof coat>) => setCoat((old) => ({ ...old, ...part }));
  return (
    <>
      <ColorControl
        label="Colour"
        hint="Of the dry coat."
        lab={coat.colorLab}
        onChange={(colorLab) => change({ colorLab })}
        wanted={coat.wantedLab}
        onWantedChange={(wantedLab) => change({ wantedLab })}
      />
      <section aria-label="Kinship">
        <KinshipLine coat={coat} wood={woodOf('lime')} />
      </section>
      <output id="held">{JSON.stringify({ lab: coat.colorLab, wanted: coat.wantedLab })}</output>
    </>
  );
}

const root = document.getElementById('root');
if (!root) throw new Error('the page has no root');
createRoot(root).render(<Harness />);
