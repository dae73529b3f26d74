import { useState } from 'react';
import { Button } from 'react-aria-components';
import { degToRad, radToDeg } from '../../base/units.ts';
import { placementWarnings, registerMarks } from '../../physics/bed/bed.ts';
import type { Placement } from '../../piece/schema.ts';
import { setProof } from '../burn/proof-store.ts';
import { More } from '../fields/SheetDialog.tsx';
import { LengthControl, SwitchControl, ValueControl } from '../fields/ValueControl.tsx';
import { usePieceStore } from '../store/piece-store.ts';

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

type Pair = readonly [number, number];

/** Two marks on the slab and where the machine finds them. */
function BedMarks({ onFound }: { onFound: (part: Partial<Placement>) => void }) {
  const [slab, setSlab] = useState<readonly [Pair, Pair]>([
    [-50, 0],
    [50, 0],
  ]);
  const [bed, setBed] = useState<readonly [Pair, Pair]>([
    [150, 200],
    [250, 200],
  ]);
  const set = (points: readonly [Pair, Pair], mark: number, axis: number, value: number): [Pair, Pair] =>
    points.map((point, i) =>
      i === mark ? (axis === 0 ? [value, point[1]] : [point[0], value]) : point,
    ) as unknown as [Pair, Pair];
  const register = () => {
    try {
      const { mismatchMm, ...found } = registerMarks(slab, bed);
      onFound(found);
      if (Math.abs(mismatchMm) > 0.5) {
        setProof({
          notice: `The marks lie ${Math.abs(mismatchMm).toFixed(1)} mm ${mismatchMm > 0 ? 'farther apart' : 'nearer together'} on the bed than on the slab; measure them once more.`,
        });
      }
    } catch (error) {
      setProof({ notice: `The slab cannot be placed: ${(error as Error).message}.` });
    }
  };
  return (
    <More label="By two marks">
      {[0, 1].map((mark) =>
        [0, 1].map((axis) => (
          <LengthControl
            key={`slab-${mark}-${axis}`}
            label={`Mark ${mark + 1} on the slab, ${axis === 0 ? 'right' : 'towards you'}`}
            hint="From the slab’s middle."
            valueMm={slab[mark][axis]}
            onChange={(value) => setSlab(set(slab, mark, axis, value))}
            lowMm={-3000}
            highMm={3000}
            sliderLowMm={-200}
            sliderHighMm={200}
            stepMm={0.1}
          />
        )),
      )}
      {[0, 1].map((mark) =>
        [0, 1].map((axis) => (
          <LengthControl
            key={`bed-${mark}-${axis}`}
            label={`Mark ${mark + 1} on the bed, ${axis === 0 ? 'from the left' : 'from the front'}`}
            hint="What the machine shows with the pilot beam on the mark."
            valueMm={bed[mark][axis]}
            onChange={(value) => setBed(set(bed, mark, axis, value))}
            lowMm={-5000}
            highMm={5000}
            sliderLowMm={0}
            sliderHighMm={500}
            stepMm={0.1}
          />
        )),
      )}
      <Button className="wide" onPress={register}>
        Place the slab by its marks
      </Button>
    </More>
  );
}
