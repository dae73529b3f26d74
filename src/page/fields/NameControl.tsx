import { Input, Label, TextField } from 'react-aria-components';

/** A short name. */
export function NameControl({
  label,
  value,
  onChange,
}: {
  label: string;
  value: string;
  onChange: (name: string) => void;
}) {
  return (
    <TextField className="text-field" value={value} onChange={onChange} maxLength={200}>
      <Label>{label}</Label>
      <Input />
    </TextField>
  );
}
