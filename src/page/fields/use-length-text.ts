import { mmToInch } from '../../base/units.ts';
import { useSessionStore } from '../store/session-store.ts';

/** Lengths inside a line of text, in the maker's unit. */
export function useLengthText(): (mm: number) => string {
  const inches = useSessionStore((state) => state.units === 'inch');
  return (mm) => (inches ? `${trimmed(mmToInch(mm), 2)} in` : `${trimmed(mm, 1)} mm`);
}

const trimmed = (value: number, digits: number): string => String(Number(value.toFixed(digits)));
