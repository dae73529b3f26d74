import { LengthControl } from './ValueControl.tsx';

interface Place {
  readonly xMm: number;
  readonly yMm: number;
}

interface PlaceControlsProps {
  /** What is placed: “Middle of the knot”. */
  what: string;
  place: Place;
  onChange: (part: Partial<Place>) => void;
  /** How far the sliders reach to either side, mm. */
  reachXMm: number;
  reachYMm: number;
}

/** A place on the slab, from its centre. */
export function PlaceControls({ what, place, onChange, reachXMm, reachYMm }: PlaceControlsProps) {
  return (
    <>
      <LengthControl
        label="To the right"
        hint={`${what} from the centre of the slab; negative lies left.`}
        valueMm={place.xMm}
        onChange={(xMm) => onChange({ xMm })}
        lowMm={-3000}
        highMm={3000}
        sliderLowMm={-reachXMm}
        sliderHighMm={reachXMm}
        stepMm={0.5}
      />
      <LengthControl
        label="Towards you"
        hint={`${what} from the centre of the slab; negative lies further away.`}
        valueMm={place.yMm}
        onChange={(yMm) => onChange({ yMm })}
        lowMm={-3000}
        highMm={3000}
        sliderLowMm={-reachYMm}
        sliderHighMm={reachYMm}
        stepMm={0.5}
      />
    </>
  );
}
