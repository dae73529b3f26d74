import { Group, Input, Label, NumberField } from 'react-aria-components';
import type { Crop } from '../../burn/crop-proof.ts';

const FIELDS = [
  ['xMm', 'From the left'],
  ['yMm', 'From the top'],
  ['widthMm', 'Width'],
  ['heightMm', 'Height'],
] as const;

/** The crop by numbers. */
export function CropNumbers({ crop, onChange }: { crop: Crop; onChange: (crop: Crop) => void }) {
  return (
    <div className="crop-numbers">
      {FIELDS.map(([key, label]) => (
        <NumberField
          key={key}
          className="crop-number"
          value={crop[key]}
          minValue={0}
          formatOptions={{ maximumFractionDigits: 1, useGrouping: false }}
          onChange={(value) => Number.isFinite(value) && onChange({ ...crop, [key]: value })}
        >
          <Label>{label}</Label>
          <Group className="value-box">
            <Input />
            <span className="unit">mm</span>
          </Group>
        </NumberField>
      ))}
    </div>
  );
}
