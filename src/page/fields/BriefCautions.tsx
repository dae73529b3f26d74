import { BRIEF_CAUTIONS } from '../../base/cautions.ts';
import './brief-cautions.css';

/** Stands by whatever saves something for the machine, and stays in sight while what it stands over is scrolled. */
export function BriefCautions() {
  return (
    <aside className="brief-cautions" aria-label="Cautions in brief">
      {BRIEF_CAUTIONS.map((line) => (
        <p key={line}>{line}</p>
      ))}
    </aside>
  );
}
