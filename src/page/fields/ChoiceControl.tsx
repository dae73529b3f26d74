import { Button, Label, ListBox, ListBoxItem, Popover, Select, SelectValue, Text } from 'react-aria-components';

export interface Choice<Id extends string> {
  readonly id: Id;
  readonly label: string;
  readonly note?: string;
}

interface ChoiceControlProps<Id extends string> {
  label: string;
  hint?: string;
  value: Id;
  choices: readonly Choice<Id>[];
  onChange: (id: Id) => void;
}

/** One of a list, each with a line that says what it does. */
export function ChoiceControl<Id extends string>(props: ChoiceControlProps<Id>) {
  const current = props.choices.find(({ id }) => id === props.value);
  return (
    <Select
      className="choice-control"
      selectedKey={props.value}
      onSelectionChange={(key) => {
        const choice = props.choices.find(({ id }) => id === key);
        if (choice) props.onChange(choice.id);
      }}
    >
      <Label>{props.label}</Label>
      <Button className="choice-button">
        <SelectValue>{current?.label}</SelectValue>
        <span aria-hidden="true" className="chevron" />
      </Button>
      <Text slot="description" className="hint">
        {current?.note ?? props.hint ?? ''}
      </Text>
      <Popover className="choice-popover">
        <ListBox items={props.choices.map((choice) => ({ ...choice }))} className="choice-list">
          {(choice) => (
            <ListBoxItem id={choice.id} textValue={choice.label} className="choice-item">
              <span>{choice.label}</span>
              {choice.note && <small>{choice.note}</small>}
            </ListBoxItem>
          )}
        </ListBox>
      </Popover>
    </Select>
  );
}
