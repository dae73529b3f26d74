import { Button } from 'react-aria-components';
import { create } from 'zustand';
import { mmPerSToMmPerMin } from '../../../base/units.ts';
import { screenOf } from '../../../image/screens/screen-tone.ts';
import type { Piece } from '../../../piece/schema.ts';
import { EVEN_WISHES, WISHES, type Wishes } from '../../../studies/choose/odds.ts';
import {
  type ChooseResult,
  minutesOf,
  obstacleWords,
  type Suggestion,
  tonesOff,
  whyOf,
  withSettings,
} from '../../../studies/choose/settings.ts';
import { ask } from '../../burn/proof-remote.ts';
import { duration, percent, powers } from '../../burn/proof-store.ts';
import { pinPiece } from '../../compare/pins.ts';
import { Study } from '../../fields/TaskProgress.tsx';
import { ValueControl } from '../../fields/ValueControl.tsx';
import { createTask } from '../../remote/task.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import '../study.css';

const HINTS: readonly { id: keyof Wishes; hint: string }[] = [
  { id: 'quality', hint: 'More brings finer rows and gentler screens, and takes longer.' },
  { id: 'minutes', hint: 'More brings higher feeds and rows further apart.' },
  { id: 'safety', hint: 'More keeps further from dark residue and from scorching alike.' },
];

const STAGE_WORDS: Readonly<Record<string, string>> = {
  search: 'computing patches',
  tones: 'fitting tones, drawing what may be',
  proof: 'proving on the picture',
};

const FIRST_WORDS = 'looking at the picture';

/** Looks for settings that work, by what matters to the maker. */
export function ChooseSection() {
  const wishes = useChooseStore((state) => state.wishes);
  const result = useChooseStore((state) => state.result);
  const askedFor = useChooseStore((state) => state.askedFor);
  const busy = choosing.use((state) => state.busy !== null);
  const piece = usePieceStore((state) => state.piece);
  const nothing = result?.obstacle && (result.final || !busy);
  return (
    <div className="study">
      <p className="plain">
        Looks for powers, feed, row pitch, screen and focus that clear the light areas and scorch nothing in at least 95
        of 100 cases, and fits the tones. Say what matters more.
      </p>
      {HINTS.map(({ id, hint }) => (
        <ValueControl
          key={id}
          of={WISHES[id]}
          hint={hint}
          value={wishes[id]}
          onChange={(value) => setChoose({ wishes: { ...wishes, [id]: value } })}
        />
      ))}
      <Study of={choosing} label="Search" asks="Find settings" onAsk={findSettings}>
        {nothing && result.obstacle && (
          <p className="warning">Nothing works here. {obstacleWords(result.obstacle, piece)}</p>
        )}
        {result && !busy && isStale(askedFor, piece) && (
          <p className="small-print">Slab, coats or machine have changed since: find again.</p>
        )}
      </Study>
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

/** One suggestion: how long, with what, what comes of it, why, and two things to do with it. */
function SuggestionItem({ suggestion, isNearest }: { suggestion: Suggestion; isNearest: boolean }) {
  const { pass, outcome, odds, checked, role } = suggestion;
  const uncleared = checked ? checked.unclearedShare : outcome.clearsZ === null ? null : outcome.unclearedShare;
  const screen = screenOf(pass.screen);
  const minutes = duration(60 * minutesOf(suggestion));
  const of100 = (share: number) => `${Math.round(100 * share)} of 100`;
  return (
    <li className={role === 'best' && !isNearest ? 'suggestion suggestion-best' : 'suggestion'}>
      <p className="suggestion-head">
        <b>{minutes}</b>
        <span>{isNearest ? 'Comes nearest, but does not keep the limits.' : whyOf(suggestion)}</span>
      </p>
      <p className="suggestion-settings">
        <span>{powers(pass.lightEndPower, pass.darkEndPower)}</span> ·{' '}
        <span>{Math.round(mmPerSToMmPerMin(pass.feedMmPerS))} mm/min</span> · <span>rows {pass.rowPitchMm} mm</span> ·{' '}
        <span title={screen.title}>{screen.look}</span>
        {pass.focusOffsetMm !== 0 && (
          <>
            {' '}
            · <span>focus off {pass.focusOffsetMm} mm</span>
          </>
        )}
      </p>
      <p className="small-print">
        {uncleared !== null && `${percent(uncleared)} left dark, `}
        {percent(checked?.scorchedShare ?? outcome.scorchedShare)} scorched; tones {tonesOff(suggestion)}.{' '}
        {odds
          ? `${odds.clears !== null ? `Clears in ${of100(odds.clears)} cases, stays` : 'Stays'} unscorched in ${of100(odds.unscorched)}.`
          : 'First estimate; being checked.'}
      </p>
      <div className="suggestion-actions">
        <Button onPress={() => trySuggestion(suggestion)} aria-label={`Try the settings of ${minutes}`}>
          Try it
        </Button>
        <Button
          className="quiet"
          onPress={() => pinSuggestion(suggestion)}
          aria-label={`Pin the settings of ${minutes}`}
        >
          Pin
        </Button>
      </div>
    </li>
  );
}

const WIDTH = 240;

const HEIGHT = 110;

const LEFT = 26;

const BOTTOM = 22;

const TOP = 8;

const RIGHT = 10;

/** Minutes against what the picture loses: everything that was tried and keeps the limits, with the best of it joined. */
function TradeOffChart({ result: { seen, suggestions } }: { result: ChooseResult }) {
  const points = [
    ...seen.map((one) => ({ minutes: one.minutes, loss: one.qualityLossL })),
    ...suggestions.map((one) => ({ minutes: minutesOf(one), loss: one.outcome.qualityLossL })),
  ];
  const [low, high] = rangeOf(points.map(({ minutes }) => minutes));
  const [fine, coarse] = rangeOf(points.map(({ loss }) => loss));
  // Own code here as in the other charts: scales and paths of a library would be as many lines.
  const x = (minutes: number) => LEFT + ((WIDTH - LEFT - RIGHT) * (minutes - low)) / (high - low);
  const y = (loss: number) => TOP + ((HEIGHT - TOP - BOTTOM) * (loss - fine)) / (coarse - fine);
  const front = seen.filter((one) => one.front).sort((a, b) => a.minutes - b.minutes);
  return (
    <figure className="trade-off">
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label="Minutes against quality of everything tried">
        <path className="axis" d={`M${LEFT} ${TOP - 4}V${HEIGHT - BOTTOM + 4}H${WIDTH - RIGHT + 4}`} />
        <text x={LEFT} y={HEIGHT - 6}>
          {duration(60 * low)}
        </text>
        <text x={WIDTH - RIGHT} y={HEIGHT - 6} textAnchor="end">
          {duration(60 * high)}
        </text>
        <text transform={`translate(12 ${HEIGHT - BOTTOM}) rotate(-90)`}>coarser</text>
        <text transform={`translate(12 ${TOP + 20}) rotate(-90)`}>finer</text>
        {seen.map((one, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: what was tried has no identity but its place
          <circle key={i} className="tried" cx={x(one.minutes)} cy={y(one.qualityLossL)} r={1.6} />
        ))}
        {front.length > 1 && (
          <polyline points={front.map((one) => `${x(one.minutes)},${y(one.qualityLossL)}`).join(' ')} />
        )}
        {suggestions.map((one) => (
          <circle
            key={one.id}
            className={one.role === 'best' ? 'picked picked-best' : 'picked'}
            cx={x(minutesOf(one))}
            cy={y(one.outcome.qualityLossL)}
            r={4}
          />
        ))}
      </svg>
      <figcaption>
        {seen.length} settings that keep the limits; filled in are the suggestions
        {suggestions.some(({ role }) => role === 'best') && ', the accent is the one that suits what matters best'}.
      </figcaption>
    </figure>
  );
}

function rangeOf(values: readonly number[]): [number, number] {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = Math.max(0.05 * (high - low), 0.01 * high, 1e-6);
  return [Math.max(0, low - room), high + room];
}

const choosing = createTask();

/** Looks for settings for the piece as it is. */
async function findSettings(): Promise<void> {
  const { piece, photo } = usePieceStore.getState();
  const { wishes } = useChooseStore.getState();
  setChoose({ result: null, askedFor: piece });
  const start = performance.now();
  let first = true;
  await choosing.run(FIRST_WORDS, async ({ signal, onProgress, goOn }) => {
    const result = await ask(
      'choose',
      { piece, photoKey: photo?.key ?? '', wishes },
      {
        signal,
        onProgress: (share, stage) => {
          onProgress(share);
          goOn(STAGE_WORDS[stage] ?? FIRST_WORDS);
        },
        onPart: (part) => {
          if (first && part.suggestions.length > 0) {
            performance.measure('foreburn-choose-first', { start });
            first = false;
          }
          setChoose({ result: part });
        },
      },
    );
    performance.measure('foreburn-choose', { start });
    setChoose({ result });
  });
}

/** Sets a suggestion's settings: one step of undo. */
function trySuggestion({ pass, curve }: Suggestion): void {
  usePieceStore.getState().change((piece) => withSettings(piece, pass, curve));
}

/** Puts a suggestion on the strip beside the others. */
function pinSuggestion(suggestion: Suggestion): void {
  const { piece, photo } = usePieceStore.getState();
  const name = duration(60 * minutesOf(suggestion));
  pinPiece(withSettings(piece, suggestion.pass, suggestion.curve), photo?.key ?? '', { name });
}

/** Whether anything but what suggestions set has changed since they were looked for. */
const isStale = (askedFor: Piece | null, piece: Piece): boolean =>
  askedFor !== null &&
  (['slab', 'stack', 'machine', 'heat', 'certainty'] as const).some((part) => askedFor[part] !== piece[part]);

/** The search for settings: kept while its section is folded away, never saved. */
interface ChooseState {
  readonly wishes: Wishes;
  /** Suggestions so far, and the piece they are for. */
  readonly result: ChooseResult | null;
  readonly askedFor: Piece | null;
}

const useChooseStore = create<ChooseState>()(() => ({
  wishes: EVEN_WISHES,
  result: null,
  askedFor: null,
}));

const setChoose = useChooseStore.setState;
