import { useEffect, useEffectEvent, useRef, useState } from 'react';
import { type BurnPlace, burnPlace, type PassCourse } from '../../physics/raster/pass-time.ts';
import type { SlabShape } from '../mesh/outline.ts';
import { type BurnFaces, type BurnFrame, BurnScene } from '../mockup/burn-scene.ts';
import { attachTurning } from '../mockup/gestures.ts';
import type { Lamp } from '../mockup/lights.ts';
import { MockupScene } from '../mockup/mockup-scene.ts';
import { MockupStage, STAGE_CONTEXT } from '../mockup/stage.ts';
import type { SlabParts } from '../model/slab-parts.ts';

export interface BurnViewProps {
  slab: SlabShape;
  parts: SlabParts;
  faces: BurnFaces;
  courses: readonly PassCourse[];
  frame: BurnFrame;
  lamp: Lamp;
  /** Time since the burn began, s. */
  seconds: number;
  label: string;
  onFault: (message: string) => void;
}

/** The slab in the machine, as it stands at a time of the burn. */
export function BurnView(props: BurnViewProps) {
  const frameElement = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLCanvasElement>(null);
  const [drawn, setDrawn] = useState<{ stage: MockupStage; burn: BurnScene } | null>(null);
  const { slab, parts, faces, courses, frame, lamp, seconds, label } = props;
  const onFault = useEffectEvent(props.onFault);
  const placeNow = useEffectEvent(() => burnPlace(courses, seconds));

  useEffect(() => {
    const element = canvas.current;
    const gl = element?.getContext('webgl2', STAGE_CONTEXT);
    if (!element || !gl) {
      onFault('This browser cannot draw the slab: WebGL 2 is switched off.');
      return;
    }
    try {
      const scene = new MockupScene(gl);
      scene.setSlab(slab, parts);
      scene.setSetting('bench');
      scene.setLamp(lamp);
      const burn = new BurnScene(scene, faces, courses, frame);
      const stage = new MockupStage(element, scene);
      let frames = 0;
      stage.onDrawn = (finished) => {
        frames++;
        element.dataset['drawn'] = finished ? 'finished' : 'moving';
        element.dataset['frames'] = String(frames);
      };
      const detach = attachTurning(frameElement.current!, stage);
      burn.show(placeNow());
      stage.touch();
      setDrawn({ stage, burn });
      return () => {
        detach();
        stage.dispose();
        scene.dispose();
      };
    } catch (error) {
      onFault(error instanceof Error ? error.message : String(error));
    }
  }, [slab, parts, faces, courses, frame, lamp]);

  useEffect(() => {
    if (!drawn) return;
    const place: BurnPlace = burnPlace(courses, seconds);
    drawn.burn.show(place);
    drawn.stage.redraw();
  }, [drawn, courses, seconds]);

  return (
    <div
      ref={frameElement}
      className="burn-view"
      style={{ position: 'relative', width: '100%', height: '100%', overflow: 'hidden', touchAction: 'none' }}
      role="application"
      // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
      tabIndex={0}
      aria-roledescription="slab in the machine"
      aria-label={`${label} Arrow keys turn it, plus and minus bring it nearer or farther, 0 puts it back.`}
    >
      <canvas ref={canvas} style={{ position: 'absolute', inset: 0, width: '100%', height: '100%' }} />
    </div>
  );
}
