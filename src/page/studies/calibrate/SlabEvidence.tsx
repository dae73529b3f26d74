import { useState } from 'react';
import { Button } from 'react-aria-components';
import type { LogEntry } from '../../../piece/schema.ts';
import type { LightAreas } from '../../../vision/card/slab-outcome.ts';
import { powers } from '../../burn/words.ts';
import { ChoiceControl } from '../../fields/ChoiceControl.tsx';
import { More } from '../../fields/More.tsx';
import { usePieceStore } from '../../store/piece-store.ts';
import { takeSlab } from './read-actions.ts';
import { today } from './words.ts';

const AREAS: readonly { id: LightAreas; label: string; note: string }[] = [
  { id: 'clear', label: 'Clear', note: 'No dark residue in the lightest areas.' },
  { id: 'blotchy', label: 'Blotchy', note: 'Clear in places, residue in others.' },
  { id: 'covered', label: 'Still covered', note: 'Dark residue all over them.' },
  { id: 'scorched', label: 'Scorched', note: 'Clear, and the undercoat turned yellow or brown.' },
];
const FROM_LOG: Partial<Readonly<Record<LogEntry['outcome'], LightAreas>>> = {
  good: 'clear',
  blotchy: 'blotchy',
  'too-dark': 'covered',
  scorched: 'scorched',
};

/** How a finished slab came out, from the log or as it is seen now: it counts as one more reading. */
export function SlabEvidence() {
  const { log, passes } = usePieceStore((state) => state.piece);
  const now = { burnedAt: today(), passes };
  const entries: { label: string; note: string; entry: Pick<LogEntry, 'passes' | 'burnedAt'>; areas?: LightAreas }[] = [
    { label: 'With today’s passes', note: tell(passes), entry: now },
    ...log.toReversed().map((entry) => ({
      label: `Burned ${entry.burnedAt.slice(0, 10)}`,
      note: tell(entry.passes),
      entry,
      areas: FROM_LOG[entry.outcome],
    })),
  ];
  const [at, setAt] = useState(0);
  const [areas, setAreas] = useState<LightAreas>('clear');
  const chosen = entries[Math.min(at, entries.length - 1)];
  return (
    <div className="folds">
      <More label="A finished slab tells too" note={log.length > 0 ? `${log.length} in the log` : undefined}>
        <ChoiceControl
          label="Slab"
          value={String(Math.min(at, entries.length - 1))}
          choices={entries.map(({ label, note }, i) => ({ id: String(i), label, note }))}
          onChange={(id) => {
            setAt(Number(id));
            const known = entries[Number(id)].areas;
            if (known) setAreas(known);
          }}
        />
        <ChoiceControl label="Its lightest areas" value={areas} choices={AREAS} onChange={setAreas} />
        <Button className="wide" onPress={() => takeSlab(chosen.entry, areas)}>
          Count it as a reading
        </Button>
      </More>
    </div>
  );
}

const tell = (passes: LogEntry['passes']): string =>
  passes.map(({ lightEndPower, darkEndPower }) => powers(lightEndPower, darkEndPower)).join(', then ');
