import { inchToMm, mmToInch } from '../../base/units.ts';
import { useSessionStore } from '../store/session-store.ts';
import { ValueControl } from './ValueControl.tsx';

interface LengthControlProps {
  label: string;
  hint: string;
  valueMm: number;
  onChange: (mm: number) => void;
  lowMm: number;
  highMm: number;
  sliderLowMm?: number;
  sliderHighMm?: number;
  stepMm: number;
  digits?: number;
}

/** A length, in the maker's unit. */
export function LengthControl(props: LengthControlProps) {
  const inches = useSessionStore((state) => state.units === 'inch');
  const show = (mm: number) => (inches ? mmToInch(mm) : mm);
  const digits = (props.digits ?? 1) + (inches ? 1 : 0);
  return (
    <ValueControl
      label={props.label}
      hint={props.hint}
      unit={inches ? 'in' : 'mm'}
      value={show(props.valueMm)}
      onChange={(value) => props.onChange(inches ? inchToMm(value) : value)}
      low={show(props.lowMm)}
      high={show(props.highMm)}
      sliderLow={props.sliderLowMm === undefined ? undefined : show(props.sliderLowMm)}
      sliderHigh={props.sliderHighMm === undefined ? undefined : show(props.sliderHighMm)}
      step={inches ? 10 ** -digits : props.stepMm}
      digits={digits}
    />
  );
}
