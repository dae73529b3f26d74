import { usePieceStore } from '../store/piece-store.ts';
import { Field } from './Field.tsx';

type Place = `slab.${'knots' | 'checks'}.${number}`;

interface PlaceControlsProps {
  /** What is placed: “Middle of the knot”. */
  what: string;
  x: `${Place}.xMm` | 'slab.pithXMm';
  y: `${Place}.yMm` | 'slab.pithYMm';
}

/** A place on the slab, from its centre; the sliders reach to the rim. */
export function PlaceControls({ what, x, y }: PlaceControlsProps) {
  const widthMm = usePieceStore((state) => state.piece.slab.widthMm);
  const heightMm = usePieceStore((state) => state.piece.slab.heightMm);
  return (
    <>
      <Field
        of={x}
        hint={`${what} from the centre of the slab; negative lies left.`}
        sliderLow={-widthMm / 2}
        sliderHigh={widthMm / 2}
      />
      <Field
        of={y}
        hint={`${what} from the centre of the slab; negative lies further away.`}
        sliderLow={-heightMm / 2}
        sliderHigh={heightMm / 2}
      />
    </>
  );
}
