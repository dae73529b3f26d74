import { Button } from 'react-aria-components';
import type { Crop } from '../../burn/crop-proof.ts';
import type { Piece } from '../../piece/schema.ts';
import type { ProofSurface } from '../../render/slab/surface/proof-surface.ts';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { AxisControls } from './AxisControls.tsx';
import { CropFrame } from './CropFrame.tsx';
import { CropNumbers } from './CropNumbers.tsx';
import type { GridPlan } from './grid-store.ts';
import { heldIn } from './hold-crop.ts';
import { Progress } from './ProofCard.tsx';

interface GridPanelProps {
  plan: GridPlan;
  piece: Piece;
  surface: ProofSurface | null;
  onPlan: (plan: GridPlan) => void;
  burning: boolean;
  /** Share of the cells that are there. */
  share: number;
  tookMs: number | null;
  fault: string | null;
  said: string | null;
  /** The grid that is shown was burned with other settings. */
  isStale: boolean;
  onBurn: () => void;
  onStop: () => void;
}

/** What the grid is made of: the crop, what changes across, what changes down. */
export function GridPanel(props: GridPanelProps) {
  const { plan, piece, surface, onPlan, burning, share, tookMs, fault, said, isStale } = props;
  const { across, down, pass, crop } = plan;
  const count = across.values.length * down.values.length;
  const hold = (next: Crop) => {
    if (!surface) return;
    const whole = { widthMm: surface.width * surface.pitchMm, heightMm: surface.height * surface.pitchMm };
    onPlan({ ...plan, crop: heldIn(whole, next) });
  };
  return (
    <>
      <div className="grid-controls">
        {surface && crop && (
          <>
            <CropFrame surface={surface} crop={crop} onChange={hold} />
            <CropNumbers crop={crop} onChange={hold} />
          </>
        )}
        {piece.passes.length > 1 && (
          <PairSwitch
            label="Pass"
            value={String(pass)}
            options={piece.passes.map((_, i) => ({ id: String(i), label: String(i + 1) }))}
            onChange={(id) => onPlan({ ...plan, pass: Number(id) })}
          />
        )}
        <AxisControls
          label="Across"
          axis={across}
          other={down}
          piece={piece}
          pass={pass}
          onChange={(axis) => onPlan({ ...plan, across: axis })}
        />
        <AxisControls
          label="Down"
          axis={down}
          other={across}
          piece={piece}
          pass={pass}
          onChange={(axis) => onPlan({ ...plan, down: axis })}
        />
      </div>
      <footer className="grid-foot">
        <div role="status">
          {said && <p className="plain">{said}</p>}
          {burning && <Progress words={`burning ${count} crops`} share={share} />}
          {!burning && !said && tookMs !== null && (
            <p className="plain">
              {`Took ${(tookMs / 1000).toFixed(1)} s.`}
              {isStale ? ' Something was changed since.' : ''}
            </p>
          )}
        </div>
        {fault && (
          <p className="warning" role="alert">
            {fault}
          </p>
        )}
        {burning ? (
          <Button className="wide" onPress={props.onStop}>
            Stop
          </Button>
        ) : (
          <Button className="wide sheet-main" isDisabled={!crop || count === 0} onPress={props.onBurn}>
            Burn the grid: {across.values.length} × {down.values.length}
          </Button>
        )}
      </footer>
    </>
  );
}
