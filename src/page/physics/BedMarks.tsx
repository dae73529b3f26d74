import { useState } from 'react';
import { Button } from 'react-aria-components';
import { registerMarks } from '../../physics/bed/bed.ts';
import type { Placement } from '../../piece/schema.ts';
import { setProof } from '../burn/proof-store.ts';
import { LengthControl } from '../fields/LengthControl.tsx';
import { More } from '../fields/More.tsx';

type Pair = readonly [number, number];

/** Two marks on the slab and where the machine finds them. */
export function BedMarks({ onFound }: { onFound: (part: Partial<Placement>) => void }) {
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
