import { type KeyboardEvent, type ReactNode, useId } from 'react';
import {
  Button,
  Group,
  Input,
  Label,
  ListBox,
  ListBoxItem,
  NumberField,
  Popover,
  Select,
  SelectValue,
  Slider,
  SliderThumb,
  SliderTrack,
  Switch,
  Text,
  TextField,
  ToggleButton,
  ToggleButtonGroup,
} from 'react-aria-components';
import { type Quantity, shownIn } from '../../base/quantity.ts';
import { mmToInch } from '../../base/units.ts';
import { useSessionStore } from '../store/piece-store.ts';
import { PartHeard, useFullName } from './of-part.tsx';

interface ValueControlProps {
  of: Quantity;
  /** One line: what it does to the wood. */
  hint: string;
  /** As it is kept; shown in the quantity's unit, or the maker's own for lengths. */
  value: number;
  onChange: (value: number) => void;
  /** Code of the currency that money is in. */
  currency?: string;
}

/** A number with its unit: a slider to feel the way, a field to type into, a line that says what it does. */
export function ValueControl({ of, hint, value: kept, onChange: onKept, currency }: ValueControlProps) {
  const { label } = of;
  const fullName = useFullName(label);
  const hintId = useId();
  const shown = shownIn(
    of,
    useSessionStore((state) => state.units),
  );
  const { low, high, sliderLow, sliderHigh, step, digits } = shown;
  const unit = currency ?? shown.unit;
  const value = shown.show(kept);
  const onChange = (next: number) => onKept(shown.keep(next));
  // What is drawn in runs from zero, where the slider has one inside.
  const zero = Math.min(100, Math.max(0, (100 * (0 - sliderLow)) / (sliderHigh - sliderLow)));
  const stepByKey = (event: KeyboardEvent) => {
    const direction = event.key === 'ArrowUp' ? 1 : event.key === 'ArrowDown' ? -1 : 0;
    if (direction === 0 || !(event.target instanceof HTMLInputElement) || event.target.type === 'range') return;
    event.preventDefault();
    event.stopPropagation();
    onChange(round(value + direction * step, 9));
  };
  return (
    // The field itself has no step, because it would round what is typed to its multiples; arrow keys are stepped here.
    <div className="value-control" onKeyDownCapture={stepByKey}>
      <NumberField
        className="value-field"
        value={round(value, digits)}
        minValue={low}
        maxValue={high}
        formatOptions={{ maximumFractionDigits: digits, useGrouping: false }}
        aria-describedby={hintId}
        onChange={(next) => {
          if (Number.isFinite(next)) onChange(next);
        }}
      >
        <Label>
          {label}
          <PartHeard />
        </Label>
        <Group className="value-box">
          <Input />
          <span className="unit">{unit}</span>
        </Group>
      </NumberField>
      <Slider
        className="value-slider"
        aria-label={`${fullName}, ${unit}`}
        value={Math.min(sliderHigh, Math.max(sliderLow, value))}
        minValue={sliderLow}
        maxValue={sliderHigh}
        step={step}
        onChange={onChange}
      >
        <SliderTrack className="track">
          {({ state }) => {
            const at = 100 * state.getThumbPercent(0);
            return (
              <>
                <div className="fill" style={{ left: `${Math.min(zero, at)}%`, width: `${Math.abs(at - zero)}%` }} />
                <SliderThumb className="thumb" />
              </>
            );
          }}
        </SliderTrack>
      </Slider>
      <p className="hint" id={hintId}>
        {hint}
      </p>
    </div>
  );
}

const round = (value: number, digits: number): number => Math.round(value * 10 ** digits) / 10 ** digits;

/** Lengths inside a line of text, in the maker's unit. */
export function useLengthText(): (mm: number) => string {
  const inches = useSessionStore((state) => state.units === 'inch');
  return (mm) => (inches ? `${trimmed(mmToInch(mm), 2)} in` : `${trimmed(mm, 1)} mm`);
}

const trimmed = (value: number, digits: number): string => String(Number(value.toFixed(digits)));

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
      <Label>
        {label}
        <PartHeard />
      </Label>
      <Input />
    </TextField>
  );
}

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
        <span className="switch-label">
          {label}
          <PartHeard />
        </span>
      </Switch>
      <p className="hint">{hint}</p>
    </div>
  );
}

interface PairSwitchProps<Id extends string> {
  label: string;
  value: Id;
  options: readonly { readonly id: Id; readonly label: string }[];
  onChange: (id: Id) => void;
  hint?: string;
}

/** One of two or three short words. */
export function PairSwitch<Id extends string>({ label, value, options, onChange, hint }: PairSwitchProps<Id>) {
  const fullName = useFullName(label);
  return (
    <div className="pair-switch">
      <span className="pair-label">{label}</span>
      <ToggleButtonGroup
        aria-label={fullName}
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

export interface Choice<Id extends string> {
  readonly id: Id;
  readonly label: string;
  readonly note?: string;
  /** What it looks like, before its words. */
  readonly picture?: ReactNode;
}

interface ChoiceControlProps<Id extends string> {
  label: string;
  hint?: string;
  value: Id;
  choices: readonly Choice<Id>[];
  /** What pictures of choices show. */
  above?: string;
  onChange: (id: Id) => void;
  onOpen?: () => void;
  onClose?: () => void;
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
      onOpenChange={(open) => (open ? props.onOpen : props.onClose)?.()}
    >
      <Label>
        {props.label}
        <PartHeard />
      </Label>
      <Button className="choice-button">
        <SelectValue>{current?.label}</SelectValue>
        <span aria-hidden="true" className="chevron" />
      </Button>
      <Text slot="description" className="hint">
        {current?.note ?? props.hint ?? ''}
      </Text>
      <Popover className={props.above ? 'choice-popover choice-pictures' : 'choice-popover'}>
        {props.above && <p className="choice-above">{props.above}</p>}
        <ListBox items={props.choices.map((choice) => ({ ...choice }))} className="choice-list">
          {(choice) => (
            <ListBoxItem id={choice.id} textValue={choice.label} className="choice-item">
              {choice.picture}
              <div>
                <span>{choice.label}</span>
                {choice.note && <small>{choice.note}</small>}
              </div>
            </ListBoxItem>
          )}
        </ListBox>
      </Popover>
    </Select>
  );
}
