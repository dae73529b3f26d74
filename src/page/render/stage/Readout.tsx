import { useProofStore, useShown } from '../../burn/proof-store.ts';
import { usePieceStore } from '../../store/piece-store.ts';

/** What lies under the pointer. */
export function Readout() {
  const probe = useProofStore((state) => state.probe);
  const coats = usePieceStore(({ piece }) => piece.stack.coats);
  const { left, right } = useShown();
  if (!probe) return null;
  const { reading } = probe;
  const record = probe.side === 'right' ? right : left;
  const names = record?.piece.stack.coats ?? coats;
  return (
    <dl className="readout" aria-live="off">
      <div>
        <dt>Place</dt>
        <dd>
          {probe.xMm.toFixed(1)}, {probe.yMm.toFixed(1)} mm
        </dd>
      </div>
      {reading ? (
        <>
          {reading.residueUm.map((residue, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: coats have no identity but their place
            <div key={i}>
              <dt>{names[i]?.name || `Coat ${i + 1}`} left</dt>
              <dd>{residue.toFixed(2)} µm</dd>
            </div>
          ))}
          <div>
            <dt>Into wood</dt>
            <dd>{reading.woodDepthUm.toFixed(1)} µm</dd>
          </div>
          <div>
            <dt>Dose past the top coat</dt>
            <dd>{reading.excessJPerMm2.toFixed(3)} J/mm²</dd>
          </div>
          <div>
            <dt>Colour</dt>
            <dd>
              <i className="swatch" style={{ background: `rgb(${reading.colorSrgb.join(' ')})` }} aria-hidden="true" />
              {reading.colorSrgb.join(' ')}
            </dd>
          </div>
        </>
      ) : (
        <div>
          <dt>Not computed here yet</dt>
          <dd />
        </div>
      )}
    </dl>
  );
}
