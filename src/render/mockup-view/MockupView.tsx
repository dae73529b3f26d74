import { useEffect, useEffectEvent, useRef, useState } from 'react';
import { burnPlace, type PassCourse } from '../../physics/raster/pass-time.ts';
import type { SlabShape } from '../mesh/outline.ts';
import { type BurnFaces, type BurnFrame, BurnScene } from '../mockup/burn-scene.ts';
import type { Lamp } from '../mockup/lights.ts';
import { AT_HOME, type FaceLook, MockupScene, type Stance } from '../mockup/mockup-scene.ts';
import { attachTurning, MockupStage, STAGE_CONTEXT } from '../mockup/stage.ts';
import type { SettingName } from '../mockup/things/solids.ts';
import type { SlabParts } from '../model/slab-parts.ts';

interface Drawn {
  readonly scene: MockupScene;
  readonly stage: MockupStage;
}

interface TurnedCanvasProps {
  className: string;
  /** What it is, and what it shows, for those who do not see it. */
  what: string;
  label: string;
  /** What is drawn with; called once. */
  onOpen: (drawn: Drawn) => void;
  /** After every frame, with where the camera stands. */
  onDrawn?: (stance: Stance, finished: boolean) => void;
  /** What to say where it cannot be drawn. */
  onFault: (message: string) => void;
}

/** A scene to be turned by hand or by keys. Owns everything that it puts on the graphics card. */
function TurnedCanvas({ className, what, label, ...props }: TurnedCanvasProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const frame = useRef<HTMLDivElement>(null);
  const onOpen = useEffectEvent((drawn: Drawn) => props.onOpen(drawn));
  const onDrawn = useEffectEvent((stance: Stance, finished: boolean) => props.onDrawn?.(stance, finished));
  const onFault = useEffectEvent((message: string) => props.onFault(message));

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
      let frames = 0;
      stage.onDrawn = (finished) => {
        frames++;
        element.dataset['drawn'] = finished ? 'finished' : 'moving';
        element.dataset['frames'] = String(frames);
        onDrawn(stage.stance, finished);
      };
      const detach = attachTurning(frame.current!, stage);
      onOpen({ scene, stage });
      return () => {
        detach();
        stage.dispose();
        scene.dispose();
      };
    } catch (error) {
      onFault(error instanceof Error ? error.message : String(error));
    }
  }, []);

  return (
    <div
      ref={frame}
      className={className}
      style={{ position: 'relative', width: '100%', height: '100%', overflow: 'hidden', touchAction: 'none' }}
      role="application"
      // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
      tabIndex={0}
      aria-roledescription={what}
      aria-label={`${label} Arrow keys turn it, plus and minus bring it nearer or farther, 0 puts it back.`}
    >
      <canvas ref={canvas} style={{ position: 'absolute', inset: 0, width: '100%', height: '100%' }} />
    </div>
  );
}

interface MockupViewProps extends Pick<TurnedCanvasProps, 'label' | 'onDrawn' | 'onFault'> {
  slab: SlabShape;
  parts: SlabParts;
  look: FaceLook;
  setting: SettingName;
  lamp: Lamp;
}

/** A slab in a setting. */
export function MockupView({ slab, parts, look, setting, lamp, ...rest }: MockupViewProps) {
  const [drawn, setDrawn] = useState<Drawn | null>(null);
  useEffect(() => {
    drawn?.scene.setSlab(slab, parts);
    drawn?.stage.touch();
  }, [drawn, slab, parts]);
  useEffect(() => {
    drawn?.scene.setFace(look);
    drawn?.stage.touch();
  }, [drawn, look]);
  useEffect(() => {
    drawn?.scene.setSetting(setting);
    drawn?.stage.turnTo(AT_HOME);
  }, [drawn, setting]);
  const { azimuthRad, elevationRad } = lamp;
  useEffect(() => {
    drawn?.scene.setLamp({ azimuthRad, elevationRad });
    drawn?.stage.touch();
  }, [drawn, azimuthRad, elevationRad]);
  return <TurnedCanvas className="mockup-view" what="slab to turn" onOpen={setDrawn} {...rest} />;
}

interface BurnViewProps extends Pick<TurnedCanvasProps, 'label' | 'onFault'> {
  slab: SlabShape;
  parts: SlabParts;
  faces: BurnFaces;
  courses: readonly PassCourse[];
  frame: BurnFrame;
  lamp: Lamp;
  /** Time since the burn began, s. */
  seconds: number;
}

/** The slab in the machine, as it stands at a time of the burn. */
export function BurnView({ slab, parts, faces, courses, frame, lamp, seconds, ...rest }: BurnViewProps) {
  const [drawn, setDrawn] = useState<Drawn | null>(null);
  const [burn, setBurn] = useState<BurnScene | null>(null);
  const placeNow = useEffectEvent(() => burnPlace(courses, seconds));
  useEffect(() => {
    if (!drawn) return;
    const { scene, stage } = drawn;
    scene.setSlab(slab, parts);
    scene.setSetting('bench');
    scene.setLamp(lamp);
    const made = new BurnScene(scene, faces, courses, frame);
    made.show(placeNow());
    setBurn(made);
    stage.touch();
  }, [drawn, slab, parts, faces, courses, frame, lamp]);
  useEffect(() => {
    burn?.show(burnPlace(courses, seconds));
    drawn?.stage.redraw();
  }, [drawn, burn, courses, seconds]);
  return <TurnedCanvas className="burn-view" what="slab in the machine" onOpen={setDrawn} {...rest} />;
}
