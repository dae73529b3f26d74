import { Checkbox, CheckboxGroup } from 'react-aria-components';

interface TicksProps<Id extends string> {
  readonly label: string;
  readonly all: readonly Id[];
  readonly words: Readonly<Record<Id, { readonly label: string; readonly note: string }>>;
  readonly chosen: readonly Id[];
  readonly onChange: (chosen: readonly Id[]) => void;
}

/** Any of a few things, each with a line that says what it is; those that are ticked come in the order of all. */
export function Ticks<Id extends string>({ label, all, words, chosen, onChange }: TicksProps<Id>) {
  return (
    <CheckboxGroup
      aria-label={label}
      className="board-which"
      value={[...chosen]}
      onChange={(values) => onChange(all.filter((one) => values.includes(one)))}
    >
      {all.map((one) => (
        <Checkbox key={one} value={one} className="board-setting">
          <span className="board-tick" aria-hidden="true" />
          <span>
            {words[one].label} <small>{words[one].note}</small>
          </span>
        </Checkbox>
      ))}
    </CheckboxGroup>
  );
}
