import { Button } from 'react-aria-components';
import { degToRad, radToDeg } from '../../base/units.ts';
import { fitPicture } from '../../physics/bed/fit-picture.ts';
import type { PictureSettings } from '../../piece/schema.ts';
import { setProof } from '../burn/proof-store.ts';
import { LengthControl } from '../fields/LengthControl.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { flawWords } from '../render/stage/place-words.ts';
import { usePieceStore } from '../store/piece-store.ts';

interface PlaceOnSlabProps {
  picture: PictureSettings;
  onChange: (part: Partial<PictureSettings>) => void;
}

/** Where the picture lies on the slab, and turned how. */
export function PlaceOnSlab({ picture, onChange }: PlaceOnSlabProps) {
  const slab = usePieceStore((state) => state.piece.slab);
  const photo = usePieceStore((state) => state.photo);
  const fit = () => {
    if (!photo) return;
    const fitted = fitPicture(slab, picture, photo);
    if (fitted) onChange({ widthMm: fitted.widthMm });
    else setProof({ notice: 'Nothing of the picture fits there: move it nearer to the slab’s middle.' });
  };
  const flaws = photo ? flawWords({ slab, picture }, photo) : null;
  return (
    <>
      <div className="button-row">
        <Button className="wide" isDisabled={!photo} onPress={fit}>
          Fit inside
        </Button>
        <Button className="wide" onPress={() => onChange({ offsetXMm: 0, offsetYMm: 0, rotationRad: 0 })}>
          Centre
        </Button>
      </div>
      {flaws && <p className="plain">{flaws}</p>}
      <LengthControl
        label="To the right"
        hint="Middle of the picture from the middle of the slab."
        valueMm={picture.offsetXMm}
        onChange={(offsetXMm) => onChange({ offsetXMm })}
        lowMm={-3000}
        highMm={3000}
        sliderLowMm={-150}
        sliderHighMm={150}
        stepMm={0.5}
      />
      <LengthControl
        label="Towards you"
        hint="Middle of the picture from the middle of the slab."
        valueMm={picture.offsetYMm}
        onChange={(offsetYMm) => onChange({ offsetYMm })}
        lowMm={-3000}
        highMm={3000}
        sliderLowMm={-150}
        sliderHighMm={150}
        stepMm={0.5}
      />
      <ValueControl
        label="Turned"
        hint="Counter-clockwise, about the picture’s middle."
        unit="°"
        value={radToDeg(picture.rotationRad)}
        onChange={(degrees) => onChange({ rotationRad: degToRad(degrees) })}
        low={-180}
        high={180}
        step={0.5}
        digits={1}
      />
    </>
  );
}
