import { Suspense, useState } from 'react';
import { Button } from 'react-aria-components';
import { computeAgain, stopProof } from '../burn/proof-client.ts';
import { NOW, useProofStore } from '../burn/proof-store.ts';
import { lazyPart } from '../faults/lazy-part.tsx';
import { PinCard } from './PinCard.tsx';
import { ProofCard } from './ProofCard.tsx';
import { pinCurrent } from './pins.ts';
import './strip.css';
import { inBackground } from '../faults/tell-fault.ts';

const ComparisonDialog = lazyPart(() => import('./ComparisonDialog.tsx').then((module) => module.ComparisonDialog));
const GridDialog = lazyPart(() => import('./GridDialog.tsx').then((module) => module.GridDialog));

/** Along the bottom: the proof being worked on and the pinned ones; pick two to compare them on the slab. */
export function ProofStrip() {
  const current = useProofStore((state) => state.current);
  const pins = useProofStore((state) => state.pins);
  const [open, setOpen] = useState<'table' | 'grid' | null>(null);
  const [drag, setDrag] = useState<{ from: number; to: number } | null>(null);
  if (!current) return null;
  return (
    <section className="proof-strip" aria-label="Proofs">
      <ProofCard id={NOW} title="Now" record={current} thumbnail={null} />
      <div className="strip-actions">
        {current.status === 'computing' ? (
          <Button className="pin-button" onPress={stopProof}>
            Stop
          </Button>
        ) : current.status === 'stopped' || current.status === 'failed' ? (
          <Button className="pin-button" onPress={computeAgain}>
            Compute
          </Button>
        ) : (
          <Button
            className="pin-button"
            isDisabled={current.status !== 'done'}
            onPress={() => inBackground(pinCurrent())}
          >
            Pin
          </Button>
        )}
        <Button className="quiet" onPress={() => setOpen('grid')}>
          Grid…
        </Button>
        <Button className="quiet" isDisabled={pins.length === 0} onPress={() => setOpen('table')}>
          Table…
        </Button>
      </div>
      <div className="pins">
        {pins.length === 0 && (
          <p className="strip-hint">
            Pin a proof, change a setting, then pick both: the slab shows them under a wipe or side by side.
          </p>
        )}
        {pins.map((pin, place) => (
          <PinCard key={pin.id} pin={pin} place={place} count={pins.length} drag={drag} onDrag={setDrag} />
        ))}
      </div>
      <Suspense fallback={null}>
        {open === 'table' && <ComparisonDialog onClose={() => setOpen(null)} />}
        {open === 'grid' && <GridDialog onClose={() => setOpen(null)} />}
      </Suspense>
    </section>
  );
}
