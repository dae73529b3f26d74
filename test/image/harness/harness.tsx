import { useState } from 'react';
import { createRoot } from 'react-dom/client';
import type { SlabViewHandle, SlabViewProps } from '../../../src/render/slab/SlabScene.tsx';
import { SlabView } from '../../../src/render/slab/SlabView.tsx';
import type { ProofSurface } from '../../../src/render/slab/surface/gpu-surface.ts';
import type { FrameInfo } from '../../../src/render/slab/view-core.ts';
import { type FabricateOptions, fabricate, PEAT } from './fabricate.ts';
import { evenSurface, fabricateGround, type SlabOptions, slabGround, surfaceOfGround } from './ground.ts';

const DEG = Math.PI / 180;

type Settable = Partial<Omit<SlabViewProps, 'ref' | 'onFrame'>>;

const initial: SlabViewProps = {
  slab: { shape: 'oval', widthMm: 300, heightMm: 240, thicknessMm: 20, woodColor: [0.66, 0.5, 0.32] },
  picture: { centreXMm: 0, centreYMm: 0, widthMm: 256, heightMm: 200, crop: 'oval' },
  intactColor: PEAT,
  gloss60: 25,
  underGloss60: 8,
  surfaces: { left: null, right: null },
  ground: null,
  wipe: null,
  overlays: { uncleared: false, scorched: false },
  reliefExaggeration: 1,
  sheen: 'satin',
  lamp: { azimuthRad: 315 * DEG, elevationRad: 45 * DEG },
  onLampChange: (lamp) => window.__harness.set({ lamp }),
  onWipeChange: (wipe) => window.__harness.set({ wipe }),
  onProbe: (point) => {
    window.__harness.probe = point;
  },
  resetToken: 0,
  background: '#d8d3ca',
};

interface Harness {
  set(props: Settable): void;
  fabricate: typeof fabricate;
  fabricateGround: typeof fabricateGround;
  evenSurface: typeof evenSurface;
  /** A surface burned on a made-up slab, centred on it. */
  burnOn(slab: SlabOptions, options: FabricateOptions): ProofSurface;
  /** The same with the beam off. */
  unburnedOn(slab: SlabOptions, area: { widthMm: number; heightMm: number; pitchMm: number }): ProofSurface;
  handle: SlabViewHandle | null;
  probe: { xMm: number; yMm: number } | null;
  frames: FrameInfo[];
  longTasks: number[];
  props: SlabViewProps;
  unmount(): void;
}

declare global {
  interface Window {
    __harness: Harness;
  }
}

const root = createRoot(document.getElementById('root')!);
window.__harness = {
  set: () => {},
  fabricate,
  fabricateGround,
  evenSurface,
  burnOn: (slab, options) => {
    const ground = slabGround(slab);
    const at = (x: number, y: number) => ground(x - options.widthMm / 2, y - options.heightMm / 2);
    return fabricate({ ...options, ground: at });
  },
  unburnedOn: (slab, area) => {
    const corner = { westMm: -area.widthMm / 2, northMm: -area.heightMm / 2 };
    return surfaceOfGround(slabGround(slab), { ...corner, ...area }, { id: 'unburned', alpha: 'uncleared' });
  },
  handle: null,
  probe: null,
  frames: [],
  longTasks: [],
  props: initial,
  unmount: () => root.unmount(),
};
new PerformanceObserver((list) => {
  for (const entry of list.getEntries()) window.__harness.longTasks.push(entry.duration);
}).observe({ entryTypes: ['longtask'] });

function Harness() {
  const [props, setProps] = useState(initial);
  window.__harness.set = (changed) => {
    window.__harness.props = { ...window.__harness.props, ...changed };
    setProps(window.__harness.props);
  };
  return (
    <SlabView
      {...props}
      ref={(handle) => {
        window.__harness.handle = handle;
      }}
      onFrame={(info) => window.__harness.frames.push(info)}
    />
  );
}

root.render(<Harness />);
