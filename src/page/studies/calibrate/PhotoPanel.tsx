import { Button, FileTrigger } from 'react-aria-components';
import type { Card } from '../../../vision/card/card.ts';
import { inBackground } from '../../faults/tell-fault.ts';
import { PairSwitch } from '../../fields/PairSwitch.tsx';
import { ValueControl } from '../../fields/ValueControl.tsx';
import { PHOTO_TYPES } from '../../store/files.ts';
import { setCalibrate, useCalibrate } from './calibrate-store.ts';
import { PatchTable } from './PatchTable.tsx';
import { ReadingList } from './ReadingList.tsx';
import { openCardPhoto, placeCorners, readAgain } from './read-actions.ts';

/** Lightness of a grey card of 18 % reflectance. */
const GREY = 49.5;

export function PhotoPanel({ card }: { card: Card }) {
  const { photo, chipLightness, work } = useCalibrate();
  const read = work.readings.find(({ card: one, reading }) => one.id === card.id && reading.how === 'photo');
  return (
    <>
      <FileTrigger
        acceptedFileTypes={PHOTO_TYPES}
        onSelect={(files) => {
          if (files?.[0]) inBackground(openCardPhoto(files[0]));
        }}
      >
        <Button className={photo ? 'wide' : 'wide sheet-main'}>
          {photo ? 'Another photograph…' : 'Open a photograph…'}
        </Button>
      </FileTrigger>
      <PairSwitch
        label="Judge by"
        value={chipLightness === null ? 'bare' : 'chip'}
        options={[
          { id: 'bare', label: 'Bare undercoat' },
          { id: 'chip', label: 'Grey chip' },
        ]}
        onChange={(id) => setCalibrate({ chipLightness: id === 'bare' ? null : GREY })}
        hint="What lies in the middle below. Colours are told by it, whatever the light of the room."
      />
      {chipLightness !== null && (
        <ValueControl
          label="Chip’s lightness"
          hint="L* of a neutral chip lying there; 49.5 is a grey card of 18 %."
          unit="L*"
          value={chipLightness}
          onChange={(value) => setCalibrate({ chipLightness: value })}
          low={20}
          high={98}
          step={0.5}
          digits={1}
        />
      )}
      {photo && (
        <div className="button-row">
          <Button
            className="wide"
            onPress={() => (photo.corners ? inBackground(readAgain()) : placeCorners(photo, card))}
          >
            {photo.corners ? 'Read again' : 'Set the corners'}
          </Button>
          <Button
            className="wide sheet-main"
            isDisabled={!read}
            onPress={() => setCalibrate({ part: 'fit', said: null, fault: null })}
          >
            Go on to the fit
          </Button>
        </div>
      )}
      {photo?.byHand && <p className="hint">Corners moved by hand: “Read again” goes by them.</p>}
      {read && <PatchTable card={card} reading={read.reading} />}
      <ReadingList />
    </>
  );
}
