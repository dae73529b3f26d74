import { useEffect, useEffectEvent, useRef, useState } from 'react';
import type { SlabShape } from '../mesh/outline.ts';
import { attachTurning } from '../mockup/gestures.ts';
import type { Lamp } from '../mockup/lights.ts';
import { type FaceLook, MockupScene, type Stance } from '../mockup/mockup-scene.ts';
import { MockupStage, STAGE_CONTEXT } from '../mockup/stage.ts';
import type { SettingName } from '../mockup/things/solids.ts';
import type { SlabParts } from '../model/slab-parts.ts';

export interface MockupViewProps {
  slab: SlabShape;
  parts: SlabParts;
  look: FaceLook;
  setting: SettingName;
  lamp: Lamp;
  label: string;
  /** After every frame, with where the camera stands. */
  onDrawn?: (stance: Stance, finished: boolean) => void;
  /** What to say where it cannot be drawn. */
  onFault: (message: string) => void;
}

/** A slab in a setting, to be turned by hand or by keys. Owns everything that it puts on the graphics card. */
export function MockupView(props: MockupViewProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const frame = useRef<HTMLDivElement>(null);
  const [drawn, setDrawn] = useState<{ scene: MockupScene; stage: MockupStage } | null>(null);
  const { slab, parts, look, setting, lamp, label } = props;
  const onFault = useEffectEvent(props.onFault);
  const onDrawn = useEffectEvent((stance: Stance, finished: boolean) => props.onDrawn?.(stance, finished));

  useEffect(() => {
    const element = canvas.current;
    const gl = element?.getContext('webgl2', STAGE_CONTEXT);
    if (!element || !gl) {
      onFault('This browser cannot draw the slab: WebGL 2 is switched off.');
      return;
    }
    try {
      const scene = new MockupScene(gl);
      const stage = new MockupStage(element, scene);
      stage.onDrawn = (finished) => {
        element.dataset['drawn'] = finished ? 'finished' : 'moving';
        onDrawn(stage.stance, finished);
      };
      const detach = attachTurning(frame.current!, stage);
      setDrawn({ scene, stage });
      return () => {
        detach();
        stage.dispose();
        scene.dispose();
      };
    } catch (error) {
      onFault(error instanceof Error ? error.message : String(error));
    }
  }, []);

  useEffect(() => {
    drawn?.scene.setSlab(slab, parts);
    drawn?.stage.touch();
  }, [drawn, slab, parts]);
  useEffect(() => {
    drawn?.scene.setFace(look);
    drawn?.stage.touch();
  }, [drawn, look]);
  useEffect(() => {
    if (!drawn) return;
    drawn.scene.setSetting(setting);
    drawn.stage.turnTo({ azimuthRad: 0, heightRad: 0, zoom: 1, turnRad: 0 });
  }, [drawn, setting]);
  const { azimuthRad, elevationRad } = lamp;
  useEffect(() => {
    drawn?.scene.setLamp({ azimuthRad, elevationRad });
    drawn?.stage.touch();
  }, [drawn, azimuthRad, elevationRad]);

  return (
    <div
      ref={frame}
      className="mockup-view"
      style={{ position: 'relative', width: '100%', height: '100%', overflow: 'hidden', touchAction: 'none' }}
      role="application"
      // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
      tabIndex={0}
      aria-roledescription="slab to turn"
      aria-label={`${label} Arrow keys turn it, plus and minus bring it nearer or farther, 0 puts it back.`}
    >
      <canvas ref={canvas} style={{ position: 'absolute', inset: 0, width: '100%', height: '100%' }} />
    </div>
  );
}
