import { Button, FileTrigger } from 'react-aria-components';
import { resolutionSentence } from '../../physics/bed/fit-picture.ts';
import type { PictureSettings } from '../../piece/schema.ts';
import { inBackground } from '../faults/tell-fault.ts';
import { LengthControl } from '../fields/LengthControl.tsx';
import { More } from '../fields/More.tsx';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { ToneControls } from '../fields/ToneControls.tsx';
import { PHOTO_TYPES, takeFiles } from '../store/files.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { FitTones } from './FitTones.tsx';
import { MaskButton } from './mask/MaskButton.tsx';
import { PlaceByHand } from './PlaceByHand.tsx';
import { PlaceOnSlab } from './PlaceOnSlab.tsx';
import { RepairControls } from './RepairControls.tsx';
import { SpotSharpening } from './SpotSharpening.tsx';

export function PictureStep() {
  const picture = usePieceStore((state) => state.piece.picture);
  const photo = usePieceStore((state) => state.photo);
  const rowPitchMm = usePieceStore((state) => state.piece.passes[0].rowPitchMm);
  const sentence = photo ? resolutionSentence(picture, photo, rowPitchMm) : null;
  const change = usePieceStore((state) => state.change);
  const edit = (part: Partial<PictureSettings>) =>
    change((piece) => ({ ...piece, picture: { ...piece.picture, ...part } }));
  return (
    <>
      <FileTrigger
        acceptedFileTypes={PHOTO_TYPES}
        onSelect={(files) => inBackground(takeFiles(files ? [...files] : []))}
      >
        <Button className="wide">Open a photograph…</Button>
      </FileTrigger>
      <p className="plain">
        {photo ? `${photo.name}, ${photo.width} × ${photo.height} pixels` : 'Or drop one anywhere on the page.'}
      </p>
      <LengthControl
        label="Width on the slab"
        hint="The height follows from the photograph."
        valueMm={picture.widthMm}
        onChange={(widthMm) => edit({ widthMm })}
        lowMm={1}
        highMm={3000}
        sliderLowMm={30}
        sliderHighMm={600}
        stepMm={1}
      />
      <PlaceByHand />
      {sentence && <p className="plain">{sentence}</p>}
      <PairSwitch
        label="Crop"
        value={picture.crop}
        options={[
          { id: 'rectangle', label: 'Rectangle' },
          { id: 'oval', label: 'Oval' },
        ]}
        onChange={(crop) => edit({ crop })}
        hint="The head does not travel over what is cut away: an oval saves its corners."
      />
      <MaskButton />
      <LengthControl
        label="Fades out over"
        hint="Towards its edge the picture sinks into the unburned slab."
        valueMm={picture.fallOffMm}
        onChange={(fallOffMm) => edit({ fallOffMm })}
        lowMm={0}
        highMm={500}
        sliderHighMm={60}
        stepMm={1}
      />
      <ToneControls tone={picture.tone} onChange={(tone) => edit({ tone })} />
      <FitTones />
      <SpotSharpening />
      <More label="Place by numbers">
        <PlaceOnSlab picture={picture} onChange={edit} />
      </More>
      <More label="Repair an old print">
        <RepairControls repair={picture.repair} onChange={(repair) => edit({ repair })} />
      </More>
    </>
  );
}
