import { useEffect, useId, useRef, useState } from 'react';
import { Button, FileTrigger } from 'react-aria-components';
import type { Lab } from '../../base/color/lab.ts';
import { colorFromPhoto, meanPatch, type PatchReading } from '../../base/color/patch.ts';
import { PATCH_REFERENCES, type PatchReferenceId, referenceLab } from '../../base/color/references.ts';
import { inBackground } from '../faults/tell-fault.ts';
import { ChoiceControl } from './ChoiceControl.tsx';
import { openPatchPhoto } from './open-patch-photo.ts';
import { PairSwitch } from './PairSwitch.tsx';
import { PatchResult } from './PatchResult.tsx';
import { type PatchPart, PatchSheet } from './PatchSheet.tsx';
import { boxPixels, type PatchBox } from './patch-box.ts';
import { ValueControl } from './ValueControl.tsx';

const START: Readonly<Record<PatchPart, PatchBox>> = {
  patch: { x: 0.2, y: 0.4, width: 0.2, height: 0.2 },
  reference: { x: 0.6, y: 0.4, width: 0.2, height: 0.2 },
};

interface PatchReaderProps {
  current: Lab;
  onTake: (lab: Lab) => void;
}

/** Reads a colour off a photograph of a dry painted patch with a white or grey reference beside it. It stays on the page. */
export function PatchReader({ current, onTake }: PatchReaderProps) {
  const hintId = useId();
  const latest = useRef(0);
  const [photo, setPhoto] = useState<HTMLCanvasElement | null>(null);
  const [fault, setFault] = useState<string | null>(null);
  const [boxes, setBoxes] = useState(START);
  const [active, setActive] = useState<PatchPart>('patch');
  const [reference, setReference] = useState<PatchReferenceId>('paper');
  const [lightness, setLightness] = useState(90);
  const [reading, setReading] = useState<PatchReading | null>(null);

  const open = async (file: File | undefined) => {
    if (!file) return;
    const turn = ++latest.current;
    try {
      const opened = await openPatchPhoto(file);
      if (turn !== latest.current) return;
      setPhoto(opened);
      setBoxes(START);
      setActive('patch');
      setReading(null);
      setFault(null);
    } catch (error) {
      const why = error instanceof Error ? error.message : 'cannot be read. Save it as JPEG or PNG.';
      if (turn === latest.current) setFault(`“${file.name}” ${why}`);
    }
  };

  useEffect(() => {
    if (!photo) return;
    // Gathers quick moves: a reading takes some milliseconds.
    const timer = setTimeout(() => {
      const mean = (box: PatchBox) => {
        const context = photo.getContext('2d');
        return meanPatch(context?.getImageData(...boxPixels(box, photo.width, photo.height)).data ?? []);
      };
      setReading(colorFromPhoto(mean(boxes.patch), mean(boxes.reference), referenceLab(reference, lightness)));
    }, 60);
    return () => clearTimeout(timer);
  }, [photo, boxes, reference, lightness]);

  return (
    <div className="patch-reader">
      <FileTrigger
        acceptedFileTypes={['image/jpeg', 'image/png', 'image/webp']}
        onSelect={(files) => inBackground(open(files?.[0]))}
      >
        <Button className="wide">From a photograph…</Button>
      </FileTrigger>
      {fault && (
        <p className="warning" role="alert">
          {fault}
        </p>
      )}
      {!photo && (
        <p className="hint">A dry painted patch with white paper or a grey card beside it, in even daylight.</p>
      )}
      {photo && (
        <>
          <PairSwitch
            label="Draw round"
            value={active}
            options={[
              { id: 'patch', label: 'Paint' },
              { id: 'reference', label: 'Reference' },
            ]}
            onChange={setActive}
          />
          <PatchSheet
            photo={photo}
            boxes={boxes}
            active={active}
            hintId={hintId}
            onActivate={setActive}
            onChange={(part, box) => setBoxes((old) => ({ ...old, [part]: box }))}
          />
          <p className="hint" id={hintId}>
            Drag to draw a rectangle, or drag one to move it. Arrow keys move it, with Shift they change its size.
          </p>
          <ChoiceControl label="Reference" value={reference} choices={PATCH_REFERENCES} onChange={setReference} />
          {reference === 'typed' && (
            <ValueControl
              label="Its lightness"
              hint="As its data sheet or an instrument says."
              unit="L*"
              value={lightness}
              onChange={setLightness}
              low={10}
              high={100}
              step={0.5}
              digits={1}
            />
          )}
          <PatchResult reading={reading} current={current} onTake={onTake} />
        </>
      )}
    </div>
  );
}
