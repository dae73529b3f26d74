import { Button } from 'react-aria-components';
import { sharpenForSpot } from '../../image/repair/spot-sharpening.ts';
import { spotRadii } from '../../physics/beam/source.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** Sets the unsharp mask that makes up for what the beam's own width blurs. */
export function SpotSharpening() {
  const source = usePieceStore((state) => state.piece.machine.source);
  const pass = usePieceStore((state) => state.piece.passes[0]);
  const change = usePieceStore((state) => state.change);
  const { acrossMm } = spotRadii(source, pass);
  const { settings, passed } = sharpenForSpot(acrossMm, pass.rowPitchMm);
  const press = () =>
    change((piece) => ({
      ...piece,
      picture: { ...piece.picture, tone: { ...piece.picture.tone, unsharpMask: settings } },
    }));
  return (
    <>
      <Button className="wide" onPress={press}>
        Sharpen for the beam
      </Button>
      <p className="hint">
        The beam passes {Math.round(100 * passed)} % of the contrast of details four rows wide; sharpening by{' '}
        {Math.round(100 * settings.amount)} % makes up for it. What is finer is lost.
      </p>
    </>
  );
}
