import { useShown } from '../burn/proof-store.ts';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { setSession, useSessionStore } from '../store/session-store.ts';

const WAYS = [
  { id: 'wipe', label: 'Wipe' },
  { id: 'side-by-side', label: 'Side by side' },
] as const;

/** How two picked proofs are shown on the slab. */
export function CompareTools() {
  const { right } = useShown();
  const compare = useSessionStore((state) => state.compare);
  if (!right) return null;
  return (
    <div className="compare-tools">
      <PairSwitch label="Two proofs" value={compare} options={WAYS} onChange={(way) => setSession({ compare: way })} />
    </div>
  );
}
