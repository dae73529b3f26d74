import { degToRad, radToDeg } from '../../base/units.ts';
import { strokeOverlap } from '../../physics/film/spray-fan.ts';
import { DEFAULT_APPLICATIONS } from '../../piece/defaults.ts';
import type { Application, Coat } from '../../piece/schema.ts';
import { ChoiceControl, LengthControl, PairSwitch, ValueControl } from './ValueControl.tsx';

type Sprayed = Extract<Application, { kind: 'sprayed' }>;
type Brushed = Extract<Application, { kind: 'brushed' }>;
type Poured = Extract<Application, { kind: 'poured' }>;

const WAYS = [
  { id: 'even', label: 'Not told', note: 'Only the unevenness below.' },
  { id: 'sprayed', label: 'Sprayed', note: 'Strokes of a fan: overlaps show as bands.' },
  { id: 'brushed', label: 'Brushed or rolled', note: 'Marks along the stroke, unless the paint levels.' },
  { id: 'poured', label: 'Poured or dipped', note: 'Even, with a bead along the rim.' },
] as const;

const FANS = [
  { id: 'triangular', label: 'Triangular', note: 'Half an overlap makes it even.' },
  { id: 'parabolic', label: 'Parabolic', note: 'Most even at three tenths of overlap.' },
  { id: 'elliptic', label: 'Elliptic', note: 'Fuller at its edges than a parabola.' },
  { id: 'gaussian', label: 'Gaussian', note: 'Soft edges, forgiving.' },
  { id: 'uniform', label: 'Uniform', note: 'Hard edges: the overlap must be exact.' },
] as const;

/** How a coat was put on, and with what. */
export function LayingControls({ coat, onChange }: { coat: Coat; onChange: (part: Partial<Coat>) => void }) {
  const { application } = coat;
  const put = (next: Application) => onChange({ application: next });
  return (
    <>
      <ChoiceControl
        label="How it was laid"
        value={application.kind}
        choices={WAYS}
        onChange={(kind) => put(DEFAULT_APPLICATIONS[kind])}
      />
      {application.kind === 'sprayed' && <SprayControls spray={application} onChange={put} />}
      {application.kind === 'brushed' && <BrushControls brush={application} onChange={put} />}
      {application.kind === 'poured' && <PourControls pour={application} onChange={put} />}
    </>
  );
}

function SprayControls({ spray, onChange }: { spray: Sprayed; onChange: (spray: Sprayed) => void }) {
  const edit = (part: Partial<Sprayed>) => onChange({ ...spray, ...part });
  const { spread } = strokeOverlap(spray.fan, spray.overlap);
  return (
    <>
      <ChoiceControl label="Fan" value={spray.fan} choices={FANS} onChange={(fan) => edit({ fan })} />
      <LengthControl
        label="Fan width"
        hint="On the slab, from edge to edge of one stroke."
        valueMm={spray.fanWidthMm}
        onChange={(fanWidthMm) => edit({ fanWidthMm })}
        lowMm={5}
        highMm={1000}
        sliderLowMm={20}
        sliderHighMm={250}
        stepMm={1}
      />
      <ValueControl
        label="Overlap"
        hint={`Of neighbouring strokes. This fan alone varies by ${(100 * spread).toFixed(1)} %.`}
        unit="%"
        value={100 * spray.overlap}
        onChange={(percent) => edit({ overlap: percent / 100 })}
        low={0}
        high={90}
        step={1}
        digits={1}
      />
      <ValueControl
        label="Stroke heading"
        hint="0 runs left to right; turns counter-clockwise."
        unit="°"
        value={radToDeg(spray.headingRad)}
        onChange={(deg) => edit({ headingRad: degToRad(deg) })}
        low={0}
        high={360}
        step={5}
        digits={1}
      />
      <LengthControl
        label="Wobble of the hand"
        hint="Strokes stray this far from where they should run."
        valueMm={spray.wobbleMm}
        onChange={(wobbleMm) => edit({ wobbleMm })}
        lowMm={0}
        highMm={100}
        sliderHighMm={20}
        stepMm={0.5}
      />
      <ValueControl
        label="Unsteady speed"
        hint="A slow stretch of a stroke leaves more paint."
        unit="%"
        value={100 * spray.speedVariation}
        onChange={(percent) => edit({ speedVariation: percent / 100 })}
        low={0}
        high={50}
        step={1}
        digits={1}
      />
      <PairSwitch
        label="Trigger"
        value={spray.ends}
        options={[
          { id: 'outside', label: 'Beside' },
          { id: 'inside', label: 'Over the edge' },
        ]}
        onChange={(ends) => edit({ ends })}
        hint="Starting and stopping over the slab leaves a thick rim."
      />
    </>
  );
}

function BrushControls({ brush, onChange }: { brush: Brushed; onChange: (brush: Brushed) => void }) {
  const edit = (part: Partial<Brushed>) => onChange({ ...brush, ...part });
  return (
    <>
      <PairSwitch
        label="Strokes along the"
        value={brush.along}
        options={[
          { id: 'width', label: 'width' },
          { id: 'height', label: 'height' },
        ]}
        onChange={(along) => edit({ along })}
      />
      <LengthControl
        label="Bristle marks apart"
        hint="Wide marks level much more slowly than narrow ones."
        valueMm={brush.markSpacingMm}
        onChange={(markSpacingMm) => edit({ markSpacingMm })}
        lowMm={0.2}
        highMm={50}
        sliderHighMm={8}
        stepMm={0.1}
      />
      <ValueControl
        label="Height of the marks"
        hint="Over the wet film, just after the stroke."
        unit="%"
        value={100 * brush.markShare}
        onChange={(percent) => edit({ markShare: percent / 100 })}
        low={0}
        high={100}
        step={1}
        digits={0}
      />
      <ValueControl
        label="Viscosity"
        hint="Of the paint at rest: thick paint keeps its marks."
        unit="Pa·s"
        value={brush.viscosityPaS}
        onChange={(viscosityPaS) => edit({ viscosityPaS })}
        low={0.01}
        high={1000}
        sliderHigh={30}
        step={0.1}
      />
      <ValueControl
        label="Open time"
        hint="As long as it flows, the marks level."
        unit="s"
        value={brush.openTimeS}
        onChange={(openTimeS) => edit({ openTimeS })}
        low={0}
        high={86400}
        sliderHigh={900}
        step={10}
        digits={0}
      />
    </>
  );
}

function PourControls({ pour, onChange }: { pour: Poured; onChange: (pour: Poured) => void }) {
  return (
    <>
      <ValueControl
        label="Bead at the rim"
        hint="Extra thickness where the paint hangs at the edge."
        unit="%"
        value={100 * pour.beadShare}
        onChange={(percent) => onChange({ ...pour, beadShare: percent / 100 })}
        low={0}
        high={500}
        sliderHigh={150}
        step={5}
        digits={0}
      />
      <LengthControl
        label="Bead reaches in"
        hint="Distance over which it fades."
        valueMm={pour.beadWidthMm}
        onChange={(beadWidthMm) => onChange({ ...pour, beadWidthMm })}
        lowMm={0.1}
        highMm={100}
        sliderHighMm={30}
        stepMm={0.5}
      />
    </>
  );
}
