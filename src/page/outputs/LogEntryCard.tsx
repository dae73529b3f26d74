import { useEffect, useState } from 'react';
import { Button, Label, TextArea, TextField } from 'react-aria-components';
import { mmPerSToMmPerMin } from '../../base/units.ts';
import { LOG_OUTCOMES, type LogEntry } from '../../piece/schema.ts';
import { powers, setProof } from '../burn/proof-store.ts';
import { OpenButton } from '../fields/OpenButton.tsx';
import { ChoiceControl } from '../fields/ValueControl.tsx';
import { keepImage, photoBytes, shrinkPhoto } from '../files/photo-bytes.ts';
import { PHOTO_TYPES } from '../store/files.ts';

const OUTCOME_LABELS: Readonly<Record<(typeof LOG_OUTCOMES)[number], string>> = {
  good: 'As it should be',
  blotchy: 'Blotchy in the light areas',
  'too-dark': 'Too dark all over',
  scorched: 'Scorched',
  other: 'Something else',
};
/** Longest side of a kept picture of the finished slab, pixels. */
const KEPT_PX = 1600;

interface LogEntryCardProps {
  entry: LogEntry;
  onChange: (part: Partial<LogEntry>) => void;
  onRemove: () => void;
  onRepeat: () => void;
}

export function LogEntryCard({ entry, onChange, onRemove, onRepeat }: LogEntryCardProps) {
  const when = new Date(entry.burnedAt);
  const addPhoto = async (file: File) => {
    const jpeg = await smallJpeg(file);
    if (jpeg) onChange({ photo: await keepImage(jpeg) });
    else setProof({ notice: `${file.name} cannot be read as a picture; save it as JPEG or PNG and try again.` });
  };
  return (
    <article className="log-entry" aria-label={`Burned ${entry.burnedAt}`}>
      <h4>
        {Number.isNaN(when.getTime())
          ? entry.burnedAt
          : when.toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'short' })}
        <small>{entry.minutes} min</small>
      </h4>
      <p className="plain">
        {entry.passes
          .map(
            (pass) =>
              `${powers(pass.lightEndPower, pass.darkEndPower)} at ${Math.round(mmPerSToMmPerMin(pass.feedMmPerS))} mm/min`,
          )
          .join(', then ')}
        .
      </p>
      {entry.files.map(({ name, sha256 }) => (
        <p key={name} className="small-print" title={sha256}>
          {name} · {sha256.slice(0, 12)}…
        </p>
      ))}
      <ChoiceControl
        label="What came out"
        value={entry.outcome}
        choices={LOG_OUTCOMES.map((id) => ({ id, label: OUTCOME_LABELS[id] }))}
        onChange={(outcome) => onChange({ outcome })}
      />
      <TextField className="text-field" value={entry.note} maxLength={2000} onChange={(note) => onChange({ note })}>
        <Label>Note</Label>
        <TextArea rows={2} />
      </TextField>
      <LogPhoto name={entry.photo} />
      <div className="log-actions">
        <Button className="quiet" onPress={onRepeat}>
          Use these settings again
        </Button>
        <OpenButton types={PHOTO_TYPES} className="quiet" onFile={addPhoto}>
          {entry.photo ? 'Another photograph…' : 'Photograph…'}
        </OpenButton>
        <Button className="quiet" onPress={onRemove}>
          Remove
        </Button>
      </div>
    </article>
  );
}

function LogPhoto({ name }: { name: string | null }) {
  const [url, setUrl] = useState<string | null>(null);
  useEffect(() => {
    const bytes = name === null ? undefined : photoBytes(name);
    if (!bytes) {
      setUrl(null);
      return;
    }
    const made = URL.createObjectURL(new Blob([bytes as BlobPart], { type: 'image/jpeg' }));
    setUrl(made);
    return () => URL.revokeObjectURL(made);
  }, [name]);
  return url && <img className="log-photo" src={url} alt="The slab as it came out" />;
}

/** A photograph as a JPEG that does not weigh much; null if it cannot be decoded. */
async function smallJpeg(file: File): Promise<Uint8Array | null> {
  const bitmap = await shrinkPhoto(file, { resizeWidth: KEPT_PX, resizeQuality: 'medium' });
  if (!bitmap) return null;
  const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
  canvas.getContext('2d')?.drawImage(bitmap, 0, 0);
  bitmap.close();
  const blob = await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.82 });
  return new Uint8Array(await blob.arrayBuffer());
}
