import type { Repair } from '../../piece/schema.ts';
import { ValueControl } from '../fields/ValueControl.tsx';

const CONTROLS: readonly { readonly key: keyof Repair; readonly label: string; readonly hint: string }[] = [
  {
    key: 'cast',
    label: 'Colour cast',
    hint: 'Takes the yellow or red of an old colour print away before its tones are read.',
  },
  { key: 'fade', label: 'Fading', hint: 'Lifts a faded print back to full black and white.' },
  { key: 'localContrast', label: 'Local contrast', hint: 'Brings out what is flat in shadows and skies.' },
  {
    key: 'scratches',
    label: 'Dust and scratches',
    hint: 'Fills thin marks from what lies beside them; watch rigging and hair.',
  },
  { key: 'noise', label: 'Grain', hint: 'Evens out grain and keeps edges, so that it is not burned in.' },
];

/** What an old print has lost. */
export function RepairControls({ repair, onChange }: { repair: Repair; onChange: (repair: Repair) => void }) {
  return CONTROLS.map(({ key, label, hint }) => (
    <ValueControl
      key={key}
      label={label}
      hint={hint}
      unit="%"
      value={100 * repair[key]}
      onChange={(percent) => onChange({ ...repair, [key]: percent / 100 })}
      low={0}
      high={100}
      step={5}
      digits={0}
    />
  ));
}
