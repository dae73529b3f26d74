import type { Padding } from '../../render/slab/SlabView.tsx';
import { NOW, useProofStore } from '../burn/proof-store.ts';
import { useSessionStore } from '../store/session-store.ts';

/** What each of two slabs side by side is. */
export function SideNames({ padding }: { padding: Padding }) {
  const picked = useProofStore((state) => state.picked);
  const pins = useProofStore((state) => state.pins);
  const compare = useSessionStore((state) => state.compare);
  if (compare !== 'side-by-side' || picked.length < 2) return null;
  const nameOf = (id: string) => (id === NOW ? 'Now' : (pins.find((pin) => pin.id === id)?.name ?? ''));
  const { left, right, bottom } = padding;
  return (
    <div className="side-names" style={{ left, right, bottom: bottom + 4 }}>
      {picked.map((id) => (
        <div key={id}>
          <span>{nameOf(id)}</span>
        </div>
      ))}
    </div>
  );
}
