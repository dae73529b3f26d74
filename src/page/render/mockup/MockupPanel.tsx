import { useState } from 'react';
import { Button } from 'react-aria-components';
import { quantity } from '../../../base/quantity.ts';
import { degToRad } from '../../../base/units.ts';
import type { SettingName } from '../../../render/mockup/things/solids.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { type Choice, ChoiceControl, ValueControl } from '../../fields/ValueControl.tsx';
import { CLIP_SIZE, drawBand, saveClientFile, saveClip, saveModel, saveStill } from './mockup-actions.ts';
import { drawing, setMockup, useMockupStore } from './mockup-store.ts';

const SETTINGS: readonly Choice<Exclude<SettingName, 'bed'>>[] = [
  { id: 'shelf', label: 'On a shelf', note: 'Leaning against the wall between a vase and two books.' },
  { id: 'cup', label: 'Beside a cup', note: 'Lying on a table; the cup shows how large it is.' },
  { id: 'wall', label: 'On a wall', note: 'Hung over a cabinet.' },
  { id: 'stand', label: 'On its own', note: 'Upright on a small foot, to be turned all the way round.' },
];

const WIDTHS: readonly Choice<string>[] = [
  { id: '1600', label: '1600 × 1200', note: 'For a message or a page.' },
  { id: '2800', label: '2800 × 2100', note: 'For a large screen.' },
  { id: '4000', label: '4000 × 3000', note: 'For print, up to about 34 cm wide.' },
];

const LAMP_ROUND = quantity(-Math.PI, Math.PI, { label: 'Lamp round the slab', unit: '°', step: 5, digits: 0 });

const LAMP_OVER = quantity(degToRad(8), degToRad(80), { label: 'Lamp over the slab', unit: '°', step: 2, digits: 0 });

/** Setting and lamp, and everything that can be saved. */
export function MockupPanel() {
  const shown = useMockupStore((state) => state.shown);
  const setting = useMockupStore((state) => state.setting);
  const lamp = useMockupStore((state) => state.lamp);
  const band = useMockupStore((state) => state.band);
  const busy = drawing.use((state) => state.busy !== null);
  const [width, setWidth] = useState('4000');
  const off = !shown || busy;
  const around = ((lamp.azimuthRad + 3 * Math.PI) % (2 * Math.PI)) - Math.PI;
  return (
    <div className="mockup-controls">
      <ChoiceControl
        label="Setting"
        value={setting as (typeof SETTINGS)[number]['id']}
        choices={SETTINGS}
        onChange={(id) => setMockup({ setting: id })}
      />
      <ValueControl
        of={LAMP_ROUND}
        hint="0 is above the picture; grows clockwise."
        value={around}
        onChange={(azimuthRad) => setMockup({ lamp: { ...lamp, azimuthRad } })}
      />
      <ValueControl
        of={LAMP_OVER}
        hint="Low light rakes over the relief and throws long shadows."
        value={lamp.elevationRad}
        onChange={(elevationRad) => setMockup({ lamp: { ...lamp, elevationRad } })}
      />
      <h3>To send</h3>
      <Button className="wide mockup-main" isDisabled={off} onPress={() => inBackground(saveClientFile())}>
        Save a file for the client
      </Button>
      <p className="hint">One HTML file that opens without a network: the client turns the slab and moves the lamp.</p>
      <Button className="wide" isDisabled={off} onPress={() => inBackground(saveModel('glb'))}>
        Save a model (GLB)
      </Button>
      <Button className="wide" isDisabled={off} onPress={() => inBackground(saveModel('usdz'))}>
        Save a model (USDZ)
      </Button>
      <p className="hint">At true size, to be looked at on the client’s own wall with a phone.</p>
      <h3>Pictures</h3>
      <ChoiceControl label="Size of a still" value={width} choices={WIDTHS} onChange={setWidth} />
      <div className="mockup-pair">
        <Button className="wide" isDisabled={off} onPress={() => inBackground(saveStill(Number(width), 'image/jpeg'))}>
          Save a still (JPEG)
        </Button>
        <Button className="wide" isDisabled={off} onPress={() => inBackground(saveStill(Number(width), 'image/png'))}>
          Save a still (PNG)
        </Button>
      </div>
      <p className="hint">In this setting, from where you look now.</p>
      <div className="mockup-pair">
        <Button className="wide" isDisabled={off} onPress={() => inBackground(saveClip('turn'))}>
          Save it turning
        </Button>
        <Button className="wide" isDisabled={off} onPress={() => inBackground(saveClip('lamp'))}>
          Save a lamp sweep
        </Button>
      </div>
      <p className="hint">WebM clips of {CLIP_SIZE.seconds} s. Without a graphics card they take some minutes.</p>
      <h3>Likely results</h3>
      {band ? (
        <div className="mockup-band">
          <figure>
            <img src={band.lighter} alt="The slab as it looks if it comes out lighter" />
            <figcaption>Lighter</figcaption>
          </figure>
          <figure>
            <img src={band.darker} alt="The slab as it looks if it comes out darker" />
            <figcaption>Darker</figcaption>
          </figure>
        </div>
      ) : (
        <Button className="wide" isDisabled={off} onPress={() => inBackground(drawBand())}>
          Show lighter and darker
        </Button>
      )}
      <p className="hint">Eight times in ten the piece lies between these two. The client’s file shows them too.</p>
    </div>
  );
}
