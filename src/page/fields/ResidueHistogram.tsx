import { CLEARED_RESIDUE_UM } from '../../burn/clearing.ts';
import { HISTOGRAM_BIN_UM } from '../../burn/strip-task.ts';
import { percent } from '../burn/words.ts';

/** How much of the top coat is left in the light areas: share of the cells by residue. */
export function ResidueHistogram({ counts }: { counts: readonly number[] }) {
  const total = counts.reduce((sum, count) => sum + count, 0) || 1;
  const shares = counts.map((count) => count / total);
  const highest = Math.max(...shares, 1e-9);
  const last = Math.max(10, shares.findLastIndex((share) => share > 0.001) + 2);
  const shown = shares.slice(0, Math.min(last, shares.length));
  const cleared = CLEARED_RESIDUE_UM / HISTOGRAM_BIN_UM;
  const clean = shares.slice(0, cleared).reduce((sum, share) => sum + share, 0);
  // A root scale: the few thick residues matter as much as the many thin ones.
  const height = (share: number) => 40 * Math.sqrt(share / highest);
  return (
    <figure className="histogram">
      <svg
        viewBox={`0 0 ${shown.length} 44`}
        preserveAspectRatio="none"
        role="img"
        aria-label={`Residue in the light areas: ${percent(clean)} have less than ${CLEARED_RESIDUE_UM} µm`}
      >
        {shown.map((share, i) => (
          <rect
            // biome-ignore lint/suspicious/noArrayIndexKey: bins are places
            key={i}
            x={i + 0.08}
            y={42 - height(share)}
            width={0.84}
            height={height(share)}
            className={i < cleared ? 'bar-clean' : 'bar-left'}
          />
        ))}
        <line x1={cleared} x2={cleared} y1={0} y2={42} className="bar-limit" vectorEffect="non-scaling-stroke" />
      </svg>
      <figcaption>
        <span>0</span>
        <span>residue of the top coat in the light areas, µm (heights by root of share)</span>
        <span>{shown.length * HISTOGRAM_BIN_UM}</span>
      </figcaption>
    </figure>
  );
}
