import { degToRad, radToDeg } from '../../base/units.ts';
import { placementWarnings } from '../../physics/bed/perimeter.ts';
import type { Placement } from '../../piece/schema.ts';
import { LengthControl } from '../fields/LengthControl.tsx';
import { More } from '../fields/More.tsx';
import { SwitchControl } from '../fields/SwitchControl.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { usePieceStore } from '../store/piece-store.ts';
import { BedMarks } from './BedMarks.tsx';

/** Where the slab lies on the machine's bed, and how a second pass finds the first. */
export function BedControls() {
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const change = usePieceStore((state) => state.change);
  const { placement } = piece;
  const edit = (part: Partial<Placement>) => change((now) => ({ ...now, placement: { ...now.placement, ...part } }));
  const warnings = photo ? placementWarnings(piece, photo) : [];
  return (
    <>
      {warnings.map((warning) => (
        <p className="warning" key={warning}>
          {warning}
        </p>
      ))}
      <LengthControl
        label="Slab’s middle, from the left"
        hint="From the bed’s near left corner."
        valueMm={placement.xMm}
        onChange={(xMm) => edit({ xMm })}
        lowMm={-5000}
        highMm={5000}
        sliderLowMm={0}
        sliderHighMm={placement.bedWidthMm}
        stepMm={0.5}
      />
      <LengthControl
        label="Slab’s middle, from the front"
        hint="Away from you."
        valueMm={placement.yMm}
        onChange={(yMm) => edit({ yMm })}
        lowMm={-5000}
        highMm={5000}
        sliderLowMm={0}
        sliderHighMm={placement.bedHeightMm}
        stepMm={0.5}
      />
      <ValueControl
        label="Slab turned on the bed"
        hint="Counter-clockwise."
        unit="°"
        value={radToDeg(placement.turnRad)}
        onChange={(degrees) => edit({ turnRad: degToRad(degrees) })}
        low={-180}
        high={180}
        sliderLow={-30}
        sliderHigh={30}
        step={0.1}
        digits={2}
      />
      <BedMarks onFound={edit} />
      <More label="Bed, clearance, second pass">
        <LengthControl
          label="Bed, width"
          hint="How far the head reaches."
          valueMm={placement.bedWidthMm}
          onChange={(bedWidthMm) => edit({ bedWidthMm })}
          lowMm={20}
          highMm={5000}
          sliderLowMm={100}
          sliderHighMm={1000}
          stepMm={5}
        />
        <LengthControl
          label="Bed, depth"
          hint="From front to back."
          valueMm={placement.bedHeightMm}
          onChange={(bedHeightMm) => edit({ bedHeightMm })}
          lowMm={20}
          highMm={5000}
          sliderLowMm={100}
          sliderHighMm={1000}
          stepMm={5}
        />
        <LengthControl
          label="Clearance round the slab"
          hint="Room for the head and for clamps; less is warned of."
          valueMm={placement.clearanceMm}
          onChange={(clearanceMm) => edit({ clearanceMm })}
          lowMm={0}
          highMm={200}
          sliderHighMm={40}
          stepMm={1}
        />
        <SwitchControl
          label="Burn a reference mark"
          hint="A small mark in the margin, to find the place again for a second pass."
          value={placement.referenceMark}
          onChange={(referenceMark) => edit({ referenceMark })}
        />
        <p className="plain">
          For a second pass leave the slab clamped, park the head at the picture’s centre after the first pass and do
          not home between passes: homing may land a few tenths of a millimetre elsewhere.
        </p>
      </More>
    </>
  );
}
