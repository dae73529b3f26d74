import { useState } from 'react';
import { Button } from 'react-aria-components';
import { quantity } from '../../base/quantity.ts';
import { placementWarnings, registerMarks } from '../../physics/bed/bed.ts';
import type { Placement } from '../../piece/schema.ts';
import { setProof } from '../burn/proof-store.ts';
import { Field } from '../fields/Field.tsx';
import { More } from '../fields/SheetDialog.tsx';
import { SwitchControl, ValueControl } from '../fields/ValueControl.tsx';
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
      <Field
        of="placement.xMm"
        hint="From the bed’s near left corner."
        sliderLow={0}
        sliderHigh={placement.bedWidthMm}
      />
      <Field of="placement.yMm" hint="Away from you." sliderLow={0} sliderHigh={placement.bedHeightMm} />
      <Field of="placement.turnRad" hint="Counter-clockwise." />
      <BedMarks onFound={edit} />
      <More label="Bed, clearance, second pass">
        <Field of="placement.bedWidthMm" hint="How far the head reaches." />
        <Field of="placement.bedHeightMm" hint="From front to back." />
        <Field of="placement.clearanceMm" hint="Room for the head and for clamps; less is warned of." />
        <SwitchControl
          label="Burn a reference mark"
          hint="A small mark in the margin, to find the place again for a second pass."
          value={placement.referenceMark}
          onChange={(referenceMark) => edit({ referenceMark })}
        />
        <p className="plain">
          For a second pass leave the slab clamped, park the head at the picture’s middle after the first pass and do
          not home between passes: homing may land a few tenths of a millimetre elsewhere.
        </p>
      </More>
    </>
  );
}

type Pair = readonly [number, number];

const MARK_ON_SLAB = quantity(-3000, 3000, {
  label: 'Mark on the slab',
  unit: 'mm',
  step: 0.1,
  digits: 1,
  sliderLow: -200,
  sliderHigh: 200,
});

const MARK_ON_BED = quantity(-5000, 5000, {
  label: 'Mark on the bed',
  unit: 'mm',
  step: 0.1,
  digits: 1,
  sliderLow: 0,
  sliderHigh: 500,
});

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
          <ValueControl
            key={`slab-${mark}-${axis}`}
            of={{ ...MARK_ON_SLAB, label: `Mark ${mark + 1} on the slab, ${axis === 0 ? 'right' : 'towards you'}` }}
            hint="From the slab’s middle."
            value={slab[mark][axis]}
            onChange={(value) => setSlab(set(slab, mark, axis, value))}
          />
        )),
      )}
      {[0, 1].map((mark) =>
        [0, 1].map((axis) => (
          <ValueControl
            key={`bed-${mark}-${axis}`}
            of={{
              ...MARK_ON_BED,
              label: `Mark ${mark + 1} on the bed, ${axis === 0 ? 'from the left' : 'from the front'}`,
            }}
            hint="What the machine shows with the pilot beam on the mark."
            value={bed[mark][axis]}
            onChange={(value) => setBed(set(bed, mark, axis, value))}
          />
        )),
      )}
      <Button className="wide" onPress={register}>
        Place the slab by its marks
      </Button>
    </More>
  );
}
