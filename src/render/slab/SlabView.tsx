import { Canvas } from '@react-three/fiber';
import { type CSSProperties, useRef, useState } from 'react';
import { LampHandle } from './lamp/LampHandle.tsx';
import { PlaceFrame } from './place/PlaceFrame.tsx';
import { SlabScene } from './scene/SlabScene.tsx';
import type { SlabViewProps } from './scene/slab-view-props.ts';
import { SightBus } from './sight/sight-bus.ts';
import { WipeHandle } from './wipe/WipeHandle.tsx';

export type { SlabShape } from '../mesh/outline.ts';
export type { Padding } from './camera/fit.ts';
export type { PicturePlace } from './materials/paint-material.ts';
export type { WoodPhoto } from './materials/wood-photo.ts';
export type { SlabViewHandle, SlabViewProps } from './scene/slab-view-props.ts';
export type { FrameInfo } from './scene/view-core.ts';
export type { Lamp } from './sight/lamp.ts';
export type { Placing } from './sight/placing.ts';

const frameStyle: CSSProperties = { position: 'relative', width: '100%', height: '100%', overflow: 'hidden' };
const stageStyle: CSSProperties = { position: 'absolute', inset: 0, touchAction: 'none', outlineOffset: -3 };

/**
 * The slab on the proofing table, with its lamp. Fills its parent. Props in, callbacks out: it keeps only the camera for itself.
 * It owns everything on the graphics card and lets go of it when it leaves the page.
 */
export function SlabView(props: SlabViewProps) {
  const [bus] = useState(() => new SightBus());
  const stage = useRef<HTMLDivElement>(null);
  const { lamp, lighting, wipe, surfaces } = props;
  return (
    <div className="slab-view" style={{ ...frameStyle, background: props.background }}>
      <div
        ref={stage}
        className="slab-view__stage"
        style={stageStyle}
        role="application"
        // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
        tabIndex={0}
        aria-roledescription="slab under the lamp"
        aria-label="The slab as it will look. Arrow keys turn the view, plus and minus zoom, 0 shows the whole slab."
      >
        <Canvas
          flat
          frameloop="demand"
          gl={{ antialias: true, alpha: false, stencil: false, powerPreference: 'high-performance' }}
          camera={{ manual: true }}
          dpr={props.dpr ? [props.dpr[0], props.dpr[1]] : [1, 2]}
          style={{ position: 'absolute', inset: 0, touchAction: 'none' }}
        >
          <SlabScene {...props} bus={bus} stage={stage} />
        </Canvas>
      </div>
      {props.placing && <PlaceFrame {...props.placing} bus={bus} stage={stage} />}
      {wipe !== null && surfaces.right && <WipeHandle wipe={wipe} onChange={props.onWipeChange} bus={bus} />}
      {lighting !== 'dome' && <LampHandle lamp={lamp} onChange={props.onLampChange} bus={bus} />}
    </div>
  );
}
