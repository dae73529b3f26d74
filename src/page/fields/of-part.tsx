import { createContext, useContext } from 'react';

/** Which of several like parts the controls within are for, as it follows their names: “top coat”, “pass 2”; empty where there is one only. */
export const OfPart = createContext('');

/** A control's name, told apart from the same one of another part. */
export function useFullName(label: string): string {
  const part = useContext(OfPart);
  return part ? `${label}, ${part}` : label;
}

/** The same where the name is what is read: heard, not seen, because the part's heading stands over it. */
export function PartHeard() {
  const part = useContext(OfPart);
  return part ? <span className="unseen">, {part}</span> : null;
}
