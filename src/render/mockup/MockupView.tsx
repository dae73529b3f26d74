import { useEffect, useEffectEvent, useRef, useState } from 'react';
import { burnPlace, type PassCourse } from '../../physics/raster/pass-time.ts';
import { keepDrawing } from '../engine/gl.ts';
import type { Lamp } from '../lamp.ts';
import type { SlabShape } from '../mesh/outline.ts';
import type { SlabParts } from '../model/slab-parts.ts';
import { type BurnFaces, type BurnFrame, BurnScene } from './burn-scene.ts';
import { AT_HOME, type FaceLook, MockupScene, type Stance } from './mockup-scene.ts';
import { attachTurning, MockupStage, STAGE_CONTEXT } from './stage.ts';
import type { SettingName } from './things/solids.ts';

interface Drawn {
  readonly scene: MockupScene;
  readonly stage: MockupStage;
}

interface TurnedCanvasProps {
  className: string;
  /** What it is, and what it shows, for those who do not see it. */
  what: string;
  label: string;
  /** What is drawn with, and what is drawn with after the graphics card was away. */
  onOpen: (drawn: Drawn) => void;
  /** After every frame, with where the camera stands. */
  onDrawn?: (stance: Stance, finished: boolean) => void;
  /** What to say where it cannot be drawn. */
  onFault: (message: string) => void;
}

/** A scene to be turned by hand or by keys. Owns everything that it puts on the graphics card. */
function TurnedCanvas({ className, what, label, ...props }: TurnedCanvasProps) {
  const frame = useRef<HTMLDivElement>(null);
  const onOpen = useEffectEvent((drawn: Drawn) => props.onOpen(drawn));
  const onDrawn = useEffectEvent((stance: Stance, finished: boolean) => props.onDrawn?.(stance, finished));
  const onFault = useEffectEvent((message: string) => props.onFault(message));

  useEffect(() => {
    const element = frame.current!;
    const begin = (gl: WebGL2RenderingContext, canvas: HTMLCanvasElement) => {
      const scene = new MockupScene(gl);
      const stage = new MockupStage(canvas, scene);
      let frames = 0;
      stage.onDrawn = (finished) => {
        frames++;
        canvas.dataset['drawn'] = finished ? 'finished' : 'moving';
        canvas.dataset['frames'] = String(frames);
        onDrawn(stage.stance, finished);
      };
      const detach = attachTurning(element, stage);
      onOpen({ scene, stage });
      return () => {
        detach();
        stage.dispose();
        scene.dispose();
      };
    };
    return keepDrawing(element, STAGE_CONTEXT, begin, (message) => onFault(message));
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
    />
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
    scene.setSetting('bed');
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
