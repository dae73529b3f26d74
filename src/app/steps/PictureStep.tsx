import { Button, FileTrigger } from 'react-aria-components';
import type { PictureSettings } from '../../core/piece/schema.ts';
import { LengthControl } from '../controls/LengthControl.tsx';
import { More } from '../controls/More.tsx';
import { PairSwitch } from '../controls/PairSwitch.tsx';
import { ToneControls } from '../controls/ToneControls.tsx';
import { PHOTO_TYPES, takeFiles } from '../files.ts';
import { usePieceStore } from '../stores/piece-store.ts';

export function PictureStep() {
  const picture = usePieceStore((state) => state.piece.picture);
  const photo = usePieceStore((state) => state.photo);
  const change = usePieceStore((state) => state.change);
  const edit = (part: Partial<PictureSettings>) =>
    change((piece) => ({ ...piece, picture: { ...piece.picture, ...part } }));
  return (
    <>
      <FileTrigger acceptedFileTypes={PHOTO_TYPES} onSelect={(files) => void takeFiles(files ? [...files] : [])}>
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
      <ToneControls tone={picture.tone} onChange={(tone) => edit({ tone })} />
      <More label="Place on the slab">
        <LengthControl
          label="To the right"
          hint="Middle of the picture from the middle of the slab."
          valueMm={picture.offsetXMm}
          onChange={(offsetXMm) => edit({ offsetXMm })}
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
          onChange={(offsetYMm) => edit({ offsetYMm })}
          lowMm={-3000}
          highMm={3000}
          sliderLowMm={-150}
          sliderHighMm={150}
          stepMm={0.5}
        />
      </More>
    </>
  );
}
