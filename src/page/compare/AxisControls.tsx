import { useEffect, useState } from 'react';
import { Input, Label, Text, TextField, ToggleButton, ToggleButtonGroup } from 'react-aria-components';
import { type Piece, SCREEN_METHODS, type ScreenMethod } from '../../piece/schema.ts';
import { MOST_VALUES, type NumberSettingId, usualValues } from '../../studies/grid/grid-setting.ts';
import { ChoiceControl } from '../fields/ChoiceControl.tsx';
import { AXIS_WORDS, axisLabel, axisNote, readValues, typedValues } from './axis-words.ts';
import { screenTitle } from './columns.ts';
import { choicesBeside, type GridAxis } from './grid-store.ts';

interface AxisControlsProps {
  label: string;
  axis: GridAxis;
  other: GridAxis;
  piece: Piece;
  pass: number;
  onChange: (axis: GridAxis) => void;
}

/** What changes along one side of the grid, and through which values. */
export function AxisControls({ label, axis, other, piece, pass, onChange }: AxisControlsProps) {
  return (
    <fieldset className="grid-axis">
      <ChoiceControl
        label={label}
        value={axis.setting}
        choices={choicesBeside(other.setting, piece).map((id) => ({ id, label: axisLabel(id), note: axisNote(id) }))}
        onChange={(setting) => onChange({ setting, values: usualValues(piece, setting, pass) })}
      />
      {axis.setting === 'screen' ? (
        <ScreenValues
          values={axis.values as readonly ScreenMethod[]}
          onChange={(values) => onChange({ ...axis, values })}
        />
      ) : (
        <NumberValues
          key={axis.setting}
          setting={axis.setting}
          values={axis.values as readonly number[]}
          piece={piece}
          onChange={(values) => onChange({ ...axis, values })}
        />
      )}
    </fieldset>
  );
}

interface NumberValuesProps {
  setting: NumberSettingId;
  values: readonly number[];
  piece: Piece;
  onChange: (values: readonly number[]) => void;
}

function NumberValues({ setting, values, piece, onChange }: NumberValuesProps) {
  const typed = typedValues(setting, values);
  const [text, setText] = useState(typed);
  useEffect(() => setText(typed), [typed]);
  const read = readValues(setting, text, piece);
  const take = () => {
    if (read) onChange(read);
    setText(read ? typedValues(setting, read) : typed);
  };
  return (
    <TextField
      className="grid-values"
      value={text}
      isInvalid={read === null}
      onChange={setText}
      onBlur={take}
      onKeyDown={(event) => event.key === 'Enter' && take()}
    >
      <Label>Values, {AXIS_WORDS[setting].unit}</Label>
      <Input />
      <Text slot="description" className="hint">
        {read === null ? `One to ${MOST_VALUES} numbers` : `Up to ${MOST_VALUES}`}, with spaces between.
      </Text>
    </TextField>
  );
}

function ScreenValues({
  values,
  onChange,
}: {
  values: readonly ScreenMethod[];
  onChange: (values: readonly ScreenMethod[]) => void;
}) {
  const full = values.length >= MOST_VALUES;
  return (
    <ToggleButtonGroup
      aria-label="Screens"
      className="grid-screens"
      selectionMode="multiple"
      disallowEmptySelection
      selectedKeys={values}
      onSelectionChange={(keys) => onChange(SCREEN_METHODS.filter((method) => keys.has(method)).slice(0, MOST_VALUES))}
    >
      {SCREEN_METHODS.map((method) => (
        <ToggleButton key={method} id={method} className="grid-screen" isDisabled={full && !values.includes(method)}>
          {screenTitle(method)}
        </ToggleButton>
      ))}
    </ToggleButtonGroup>
  );
}
