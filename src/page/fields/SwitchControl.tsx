import { Switch } from 'react-aria-components';

interface SwitchControlProps {
  label: string;
  hint: string;
  value: boolean;
  onChange: (value: boolean) => void;
}

/** Something that is so or is not. */
export function SwitchControl({ label, hint, value, onChange }: SwitchControlProps) {
  return (
    <div className="switch-control">
      <Switch className="switch" isSelected={value} onChange={onChange}>
        <span className="switch-mark" aria-hidden="true" />
        <span className="switch-label">{label}</span>
      </Switch>
      <p className="hint">{hint}</p>
    </div>
  );
}
