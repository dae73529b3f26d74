import { ToggleButton, ToggleButtonGroup } from 'react-aria-components';

interface PairSwitchProps<Id extends string> {
  label: string;
  value: Id;
  options: readonly { readonly id: Id; readonly label: string }[];
  onChange: (id: Id) => void;
  hint?: string;
}

/** One of two or three short words. */
export function PairSwitch<Id extends string>({ label, value, options, onChange, hint }: PairSwitchProps<Id>) {
  return (
    <div className="pair-switch">
      <span className="pair-label">{label}</span>
      <ToggleButtonGroup
        aria-label={label}
        className="pair-group"
        selectionMode="single"
        disallowEmptySelection
        selectedKeys={[value]}
        onSelectionChange={(keys) => {
          const option = options.find(({ id }) => keys.has(id));
          if (option) onChange(option.id);
        }}
      >
        {options.map(({ id, label: text }) => (
          <ToggleButton key={id} id={id} className="pair-button">
            {text}
          </ToggleButton>
        ))}
      </ToggleButtonGroup>
      {hint && <p className="hint">{hint}</p>}
    </div>
  );
}
