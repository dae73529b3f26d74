import { Button } from 'react-aria-components';
import type { Wishes } from '../../../studies/choose/outcome.ts';
import { obstacleWords } from '../../../studies/choose/words.ts';
import { ValueControl } from '../../fields/ValueControl.tsx';
import { usePieceStore } from '../../store/piece-store.ts';
import { findSettings, isStale, stopFinding } from './choose-settings.ts';
import { setChoose, useChooseStore } from './choose-store.ts';
import './choose.css';
import { inBackground } from '../../faults/tell-fault.ts';
import { SuggestionItem } from './SuggestionItem.tsx';
import { TradeOffChart } from './TradeOffChart.tsx';

const WISHES: readonly { id: keyof Wishes; label: string; hint: string }[] = [
  {
    id: 'quality',
    label: 'True tones and fine detail',
    hint: 'More brings finer rows and gentler screens, and takes longer.',
  },
  { id: 'minutes', label: 'A short burn', hint: 'More brings higher feeds and rows further apart.' },
  { id: 'safety', label: 'A wide margin', hint: 'More keeps further from dark residue and from scorching alike.' },
];

const STAGE_WORDS: Readonly<Record<string, string>> = {
  search: 'burning patches',
  tones: 'fitting tones, drawing what may be',
  proof: 'proving on the picture',
};

/** Looks for settings that work, by what matters to the maker. */
export function ChooseSection() {
  const { wishes, busy, share, stage, result, askedFor, fault } = useChooseStore();
  const piece = usePieceStore((state) => state.piece);
  const hasPhoto = usePieceStore((state) => state.photo !== null);
  const nothing = result?.obstacle && (result.final || !busy);
  return (
    <div className="choose">
      <p className="plain">
        Looks for powers, feed, row pitch, screen and focus that clear the light areas and scorch nothing in at least 95
        of 100 cases, and fits the tones. Say what matters more.
      </p>
      {WISHES.map(({ id, label, hint }) => (
        <ValueControl
          key={id}
          label={label}
          hint={hint}
          unit="of 100"
          value={wishes[id]}
          onChange={(value) => setChoose({ wishes: { ...wishes, [id]: value } })}
          low={0}
          high={100}
          step={5}
          digits={0}
        />
      ))}
      {busy ? (
        <div className="choose-busy">
          <span className="progress" role="progressbar" aria-label="Search" aria-valuenow={Math.round(100 * share)}>
            <span>{STAGE_WORDS[stage] ?? 'looking at the picture'}…</span>
            <i style={{ width: `${100 * share}%` }} />
          </span>
          <Button className="quiet" onPress={stopFinding}>
            Stop
          </Button>
        </div>
      ) : (
        <Button className="wide" isDisabled={!hasPhoto} onPress={() => inBackground(findSettings())}>
          Find settings
        </Button>
      )}
      <div aria-live="polite">
        {fault && <p className="warning">{fault}</p>}
        {nothing && result.obstacle && <p className="warning">Nothing works here. {obstacleWords(result.obstacle)}</p>}
        {result && !busy && isStale(askedFor, piece) && (
          <p className="small-print">Slab, coats or machine have changed since: find again.</p>
        )}
      </div>
      {result && result.suggestions.length > 0 && (
        <>
          <TradeOffChart result={result} />
          <ol className="suggestions" aria-label="Settings that work">
            {result.suggestions.map((suggestion) => (
              <SuggestionItem key={suggestion.id} suggestion={suggestion} isNearest={false} />
            ))}
          </ol>
          {piece.passes.length > 1 && (
            <p className="small-print">These are for one pass: trying one takes the further passes off.</p>
          )}
        </>
      )}
      {nothing && result.nearest && (
        <ol className="suggestions" aria-label="What comes nearest">
          <SuggestionItem suggestion={result.nearest} isNearest />
        </ol>
      )}
    </div>
  );
}
