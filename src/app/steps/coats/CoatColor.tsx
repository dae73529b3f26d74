import { useMemo } from 'react';
import { colorDifference } from '../../../core/color/lab.ts';
import { differenceWords, kinship } from '../../../core/material/kinship.ts';
import type { Coat, Wood } from '../../../core/piece/schema.ts';
import { ColorControl } from '../../controls/ColorControl.tsx';
import { LabFields } from '../../controls/LabFields.tsx';
import { More } from '../../controls/More.tsx';
import { PatchPicker } from '../../controls/PatchPicker.tsx';
import { SwitchControl } from '../../controls/SwitchControl.tsx';

interface CoatColorProps {
  coat: Coat;
  wood: Wood;
  /** Only what lies open beside bark and wood is compared with them. */
  onTop: boolean;
  onChange: (part: Partial<Coat>) => void;
}

/** The colour of a coat: picked, typed in, or read off a photograph; how near it is to the tint it was meant to be. */
export function CoatColor({ coat, wood, onTop, onChange }: CoatColorProps) {
  const { concern } = useMemo(() => kinship(coat.colorLab, wood), [coat.colorLab, wood]);
  const wanted = coat.wantedLab;
  const away = wanted ? colorDifference(coat.colorLab, wanted) : 0;
  return (
    <>
      <ColorControl
        label="Colour"
        hint="Of the dry coat where it hides what is under it."
        lab={coat.colorLab}
        onChange={(colorLab) => onChange({ colorLab })}
      />
      {onTop && concern && <p className="plain">{concern}</p>}
      <More label="Colour by numbers or from a photograph">
        <LabFields lab={coat.colorLab} onChange={(colorLab) => onChange({ colorLab })} />
        <PatchPicker current={coat.colorLab} onTake={(colorLab) => onChange({ colorLab })} />
        <SwitchControl
          label="Compare with a wanted tint"
          hint="How far the dry coat is from what it was meant to be."
          value={wanted !== null}
          onChange={(on) => onChange({ wantedLab: on ? coat.colorLab : null })}
        />
        {wanted && (
          <ColorControl
            label="Meant to be"
            hint={`ΔE00 ${away.toFixed(1)}: ${differenceWords(away)}.`}
            lab={wanted}
            onChange={(wantedLab) => onChange({ wantedLab })}
          />
        )}
      </More>
    </>
  );
}
