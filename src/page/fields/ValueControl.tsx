import { type KeyboardEvent, useId } from 'react';
import { Group, Input, Label, NumberField, Slider, SliderThumb, SliderTrack } from 'react-aria-components';

interface ValueControlProps {
  label: string;
  /** One line: what it does to the wood. */
  hint: string;
  unit: string;
  value: number;
  onChange: (value: number) => void;
  low: number;
  high: number;
  step: number;
  /** Part of the range that the slider covers; the field takes all of it. */
  sliderHigh?: number;
  sliderLow?: number;
  digits?: number;
}

/** A number with its unit: a slider to feel the way, a field to type into, a line that says what it does. */
export function ValueControl(props: ValueControlProps) {
  const { label, hint, unit, value, onChange, low, high, step } = props;
  const hintId = useId();
  const sliderLow = props.sliderLow ?? low;
  const sliderHigh = props.sliderHigh ?? high;
  // What is drawn in runs from zero, where the slider has one inside.
  const zero = Math.min(100, Math.max(0, (100 * (0 - sliderLow)) / (sliderHigh - sliderLow)));
  const stepByKey = (event: KeyboardEvent) => {
    const direction = event.key === 'ArrowUp' ? 1 : event.key === 'ArrowDown' ? -1 : 0;
    if (direction === 0 || !(event.target instanceof HTMLInputElement) || event.target.type === 'range') return;
    event.preventDefault();
    event.stopPropagation();
    onChange(Math.min(high, Math.max(low, round(value + direction * step, 9))));
  };
  return (
    // The field itself has no step, because it would round what is typed to its multiples; arrow keys are stepped here.
    <div className="value-control" onKeyDownCapture={stepByKey}>
      <NumberField
        className="value-field"
        value={round(value, props.digits ?? 2)}
        minValue={low}
        maxValue={high}
        formatOptions={{ maximumFractionDigits: props.digits ?? 2, useGrouping: false }}
        aria-describedby={hintId}
        onChange={(next) => {
          if (Number.isFinite(next)) onChange(next);
        }}
      >
        <Label>{label}</Label>
        <Group className="value-box">
          <Input />
          <span className="unit">{unit}</span>
        </Group>
      </NumberField>
      <Slider
        className="value-slider"
        aria-label={`${label}, ${unit}`}
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
