import { strokeOverlap } from '../../physics/film/spray-fan.ts';
import { DEFAULT_APPLICATIONS } from '../../piece/defaults.ts';
import type { Application, Coat } from '../../piece/schema.ts';
import { Field } from './Field.tsx';
import { ChoiceControl, PairSwitch } from './ValueControl.tsx';

type Sprayed = Extract<Application, { kind: 'sprayed' }>;
type Brushed = Extract<Application, { kind: 'brushed' }>;

const WAYS = [
  { id: 'even', label: 'Not known', note: 'Only the unevenness below.' },
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

interface LayingControlsProps {
  of: `stack.coats.${number}`;
  coat: Coat;
  onChange: (part: Partial<Coat>) => void;
}

/** How a coat was put on, and with what. */
export function LayingControls({ of, coat, onChange }: LayingControlsProps) {
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
      {application.kind === 'sprayed' && <SprayControls of={of} spray={application} onChange={put} />}
      {application.kind === 'brushed' && <BrushControls of={of} brush={application} onChange={put} />}
      {application.kind === 'poured' && (
        <>
          <Field of={`${of}.application.beadShare`} hint="Extra thickness where the paint hangs at the edge." />
          <Field of={`${of}.application.beadWidthMm`} hint="Distance over which it fades." />
        </>
      )}
    </>
  );
}

interface SprayControlsProps extends Pick<LayingControlsProps, 'of'> {
  spray: Sprayed;
  onChange: (spray: Sprayed) => void;
}

function SprayControls({ of, spray, onChange }: SprayControlsProps) {
  const edit = (part: Partial<Sprayed>) => onChange({ ...spray, ...part });
  const { spread } = strokeOverlap(spray.fan, spray.overlap);
  return (
    <>
      <ChoiceControl label="Fan" value={spray.fan} choices={FANS} onChange={(fan) => edit({ fan })} />
      <Field of={`${of}.application.fanWidthMm`} hint="On the slab, from edge to edge of one stroke." />
      <Field
        of={`${of}.application.overlap`}
        hint={`Of neighbouring strokes. This fan alone varies by ${(100 * spread).toFixed(1)} %.`}
      />
      <Field of={`${of}.application.headingRad`} hint="0 runs left to right; turns counter-clockwise." />
      <Field of={`${of}.application.wobbleMm`} hint="Strokes stray this far from where they should run." />
      <Field of={`${of}.application.speedVariation`} hint="A slow stretch of a stroke leaves more paint." />
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

interface BrushControlsProps extends Pick<LayingControlsProps, 'of'> {
  brush: Brushed;
  onChange: (brush: Brushed) => void;
}

function BrushControls({ of, brush, onChange }: BrushControlsProps) {
  return (
    <>
      <PairSwitch
        label="Strokes along the"
        value={brush.along}
        options={[
          { id: 'width', label: 'width' },
          { id: 'height', label: 'height' },
        ]}
        onChange={(along) => onChange({ ...brush, along })}
      />
      <Field of={`${of}.application.markSpacingMm`} hint="Wide marks level much more slowly than narrow ones." />
      <Field of={`${of}.application.markShare`} hint="Over the wet film, just after the stroke." />
      <Field of={`${of}.application.viscosityPaS`} hint="Of the paint at rest: thick paint keeps its marks." />
      <Field of={`${of}.application.openTimeS`} hint="As long as it flows, the marks level." />
    </>
  );
}
