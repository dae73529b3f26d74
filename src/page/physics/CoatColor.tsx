import type { Coat, Wood } from '../../piece/schema.ts';
import { ColorControl } from '../fields/ColorControl.tsx';
import { KinshipLine } from '../fields/KinshipLine.tsx';

interface CoatColorProps {
  coat: Coat;
  wood: Wood;
  /** Only what lies open beside bark and wood is compared with them. */
  onTop: boolean;
  onChange: (part: Partial<Coat>) => void;
}

/** The colour of a coat: picked, typed in, or read off a photograph; how near it is to the tint it was meant to be. */
export function CoatColor({ coat, wood, onTop, onChange }: CoatColorProps) {
  return (
    <>
      <ColorControl
        label="Colour"
        hint="Of the dry coat where it hides what is under it."
        lab={coat.colorLab}
        onChange={(colorLab) => onChange({ colorLab })}
        wanted={coat.wantedLab}
        onWantedChange={(wantedLab) => onChange({ wantedLab })}
      />
      {onTop && <KinshipLine coat={coat} wood={wood} />}
    </>
  );
}
