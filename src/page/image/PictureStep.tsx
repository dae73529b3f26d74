import { useState } from 'react';
import { Button, FileTrigger, ToggleButton } from 'react-aria-components';
import { sharpenForSpot } from '../../image/repair/spot-sharpening.ts';
import { spotRadii } from '../../physics/beam/gaussian.ts';
import { fitPicture, resolutionSentence } from '../../physics/bed/placed-box.ts';
import type { PictureSettings } from '../../piece/schema.ts';
import { setProof } from '../burn/proof-store.ts';
import { inBackground, lazyPart } from '../faults/lazy-part.tsx';
import { Field } from '../fields/Field.tsx';
import { More } from '../fields/SheetDialog.tsx';
import { ToneControls } from '../fields/ToneControls.tsx';
import { PairSwitch } from '../fields/ValueControl.tsx';
import { facesIn, flawWords, PLACE_BUTTON_ID } from '../render/stage/use-placing.ts';
import { PHOTO_TYPES, takeFiles } from '../store/files.ts';
import { type OpenPhoto, setSession, usePieceStore, useSessionStore } from '../store/piece-store.ts';
import { FitTones } from './FitTones.tsx';

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
        acceptedFileTypes={[...PHOTO_TYPES, 'image/tiff']}
        onSelect={(files) => inBackground(takeFiles(files ? [...files] : []))}
      >
        <Button className="wide">Open a photograph…</Button>
      </FileTrigger>
      <p className="plain">
        {photo ? `${photo.name}, ${photo.width} × ${photo.height} pixels` : 'Or drop one anywhere on the page.'}
      </p>
      <PhotoButton />
      <Field of="picture.widthMm" hint="The height follows from the photograph." />
      <PlaceByHand />
      {sentence && <p className="plain">{sentence}</p>}
      <PairSwitch
        label="Crop"
        value={picture.crop}
        options={[
          { id: 'rectangle', label: 'Rectangle' },
          { id: 'oval', label: 'Oval' },
          { id: 'outline', label: 'Along the rim' },
        ]}
        onChange={(crop) => {
          edit({ crop, rimMm: crop === 'outline' && picture.rimMm === 0 ? FIRST_RIM_MM : picture.rimMm });
          if (crop === 'outline') fitToSlab();
        }}
        hint={
          picture.crop === 'outline'
            ? 'The picture goes as far as the slab’s own outline, less the distance below.'
            : 'The head does not travel over what is cut away: an oval saves its corners.'
        }
      />
      {picture.crop === 'outline' && (
        <Field of="picture.rimMm" hint="Width of the rim that stays as painted all round." />
      )}
      <Button className="wide" isDisabled={!photo} onPress={fitToSlab}>
        Fit to the slab
      </Button>
      <MaskButton />
      <Field of="picture.fallOffMm" hint="Towards its edge the picture sinks into the unburned slab." />
      <ToneControls of="picture.tone" tone={picture.tone} onChange={(tone) => edit({ tone })} />
      <FitTones />
      <SpotSharpening />
      <More label="Lettering and borders" note={letteringNote(picture.lettering.length)}>
        <LetteringControls />
      </More>
      <More label="Place by numbers">
        <PlaceOnSlab picture={picture} onChange={edit} />
      </More>
      <More label="Repair an old print">
        <Field
          of="picture.repair.cast"
          hint="Takes the yellow or red of an old colour print away before its tones are read."
        />
        <Field of="picture.repair.fade" hint="Lifts a faded print back to full black and white." />
        <Field of="picture.repair.localContrast" hint="Brings out what is flat in shadows and skies." />
        <Field
          of="picture.repair.scratches"
          hint="Fills thin marks from what lies beside them; watch rigging and hair."
        />
        <Field of="picture.repair.noise" hint="Evens out grain and keeps edges, so that it is not burned in." />
      </More>
    </>
  );
}

/** A rim that shows the slab was painted. */
const FIRST_RIM_MM = 6;

/** Begins and ends placing the picture with the hand, on the slab itself. */
function PlaceByHand() {
  const placing = useSessionStore((state) => state.placing);
  const photo = usePieceStore((state) => state.photo !== null);
  return (
    <div>
      <ToggleButton
        id={PLACE_BUTTON_ID}
        className="wide"
        isDisabled={!photo}
        isSelected={placing}
        onChange={(on) => setSession({ placing: on })}
      >
        {placing ? 'Done placing' : 'Place it on the slab…'}
      </ToggleButton>
      <p className="hint">
        {placing
          ? 'Drag it, pull its corners, turn it by its handle. It snaps to the middle and level; hold Alt to place it freely. Knots show through.'
          : 'Drag, scale and turn the picture on the slab itself; knots and open checks show through.'}
      </p>
    </div>
  );
}

/** Sets the unsharp mask that makes up for what the beam's own width blurs. */
function SpotSharpening() {
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

/** Loaded once it is wanted: most visits do without. */
const MaskDialog = lazyPart(() => import('./mask/MaskDialog.tsx').then((module) => module.MaskDialog));

function MaskButton() {
  const photo = usePieceStore((state) => state.photo);
  const strokes = usePieceStore((state) => state.piece.picture.strokes.length);
  const matte = usePieceStore((state) => state.piece.picture.matte !== null);
  const [open, setOpen] = useState(false);
  return (
    <div>
      <Button className="wide" isDisabled={!photo} onPress={() => setOpen(true)}>
        {strokes > 0 || matte ? 'Change the mask…' : 'Mask…'}
      </Button>
      <p className="hint">{maskWords(strokes, matte)}</p>
      {open && photo && <MaskDialog photo={photo} onClose={() => setOpen(false)} />}
    </div>
  );
}

const letteringNote = (count: number): string | undefined => (count > 0 ? String(count) : undefined);

/** With what reads fonts, once it is unfolded. */
const LetteringControls = lazyPart(() =>
  import('./lettering/LetteringControls.tsx').then((module) => module.LetteringControls),
);

/** As large as the slab allows at its place; along the rim, so that all within it is covered. */
function fitToSlab(): void {
  const { piece, photo, change } = usePieceStore.getState();
  if (!photo) return;
  const picture = fitPicture(piece.slab, piece.picture, photo);
  if (picture) change((now) => ({ ...now, picture }));
  else setProof({ notice: 'Nothing of the picture fits there: move it nearer to the slab’s middle.' });
}

/** Loaded once it is wanted, as the mask's. */
const PhotoDialog = lazyPart(() => import('./photo/PhotoDialog.tsx').then((module) => module.PhotoDialog));

function PhotoButton() {
  const photo = usePieceStore((state) => state.photo);
  const cut = usePieceStore((state) => state.piece.picture.cut);
  const heals = usePieceStore((state) => state.piece.picture.heals.length);
  const [open, setOpen] = useState(false);
  const done = [cut && 'cropped', heals > 0 && 'healed'].filter(Boolean).join(' and ');
  return (
    <div>
      <Button className="wide" isDisabled={!photo} onPress={() => setOpen(true)}>
        Crop, straighten, heal…
      </Button>
      {done && <p className="hint">The photograph is {done}; its file stays as it is.</p>}
      {open && photo && <PhotoDialog photo={photo} onClose={() => setOpen(false)} />}
    </div>
  );
}

function maskWords(strokes: number, matte: boolean): string {
  if (matte) return 'The background is not burned.';
  if (strokes === 0) return 'Paint over what is not to be burned, or mark what stays and have the edge found.';
  return `${strokes === 1 ? 'One stroke says' : `${strokes} strokes say`} what of the picture is not burned.`;
}

interface PlaceOnSlabProps {
  picture: PictureSettings;
  onChange: (part: Partial<PictureSettings>) => void;
}

/** Where the picture lies on the slab, and turned how. */
function PlaceOnSlab({ picture, onChange }: PlaceOnSlabProps) {
  const slab = usePieceStore((state) => state.piece.slab);
  const photo = usePieceStore((state) => state.photo);
  const faces = useSessionStore((state) => state.faces);
  const flaws = photo ? flawWords({ slab, picture }, photo, null) : null;
  return (
    <>
      <div className="button-row">
        <Button className="wide" onPress={() => onChange({ offsetXMm: 0, offsetYMm: 0, rotationRad: 0 })}>
          Into the middle
        </Button>
      </div>
      {photo && flaws && <FaceQuestion photo={photo} over={flaws} said={flawWords({ slab, picture }, photo, faces)} />}
      <Field of="picture.offsetXMm" hint="Middle of the picture from the middle of the slab." />
      <Field of="picture.offsetYMm" hint="Middle of the picture from the middle of the slab." />
      <Field of="picture.rotationRad" hint="Counter-clockwise, about the picture’s middle." />
    </>
  );
}

interface FaceQuestionProps {
  photo: OpenPhoto;
  /** What the picture lies over. */
  over: string;
  /** The same as far as it matters. */
  said: string | null;
}

/** A knot matters where a face lies on it; whether there is one, only the maker knows. */
function FaceQuestion({ photo, over, said }: FaceQuestionProps) {
  const answer = useSessionStore(({ faces }) => facesIn(photo, faces));
  const say = (any: boolean) => setSession({ faces: { photoKey: photo.key, any } });
  return (
    <div className="face-question">
      <p className="plain">
        {answer === null ? `${over} Are there faces in the picture?` : (said ?? `${over} No faces.`)}
      </p>
      <div className={answer === null ? 'button-row' : 'button-pair'}>
        {answer !== true && (
          <Button className={answer === null ? 'wide' : 'quiet'} onPress={() => say(true)}>
            There are faces
          </Button>
        )}
        {answer !== false && (
          <Button className={answer === null ? 'wide' : 'quiet'} onPress={() => say(false)}>
            No faces
          </Button>
        )}
      </div>
    </div>
  );
}
