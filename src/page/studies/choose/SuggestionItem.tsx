import { Button } from 'react-aria-components';
import { mmPerSToMmPerMin } from '../../../base/units.ts';
import { SCREENS } from '../../../image/screens/screen-list.ts';
import { minutesOf, type Suggestion } from '../../../studies/choose/suggestion.ts';
import { whyOf } from '../../../studies/choose/words.ts';
import { duration, percent, powers } from '../../burn/words.ts';
import { pinSuggestion, trySuggestion } from './choose-settings.ts';

/** One suggestion: how long, with what, what comes of it, why, and two things to do with it. */
export function SuggestionItem({ suggestion, isNearest }: { suggestion: Suggestion; isNearest: boolean }) {
  const { pass, outcome, odds, checked, role } = suggestion;
  const uncleared = checked ? checked.unclearedShare : outcome.clearsZ === null ? null : outcome.unclearedShare;
  const screen = SCREENS.find(({ method }) => method === pass.screen);
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
        <span title={screen?.title}>{screen?.short ?? pass.screen}</span>
        {pass.focusOffsetMm !== 0 && (
          <>
            {' '}
            · <span>focus off {pass.focusOffsetMm} mm</span>
          </>
        )}
      </p>
      <p className="small-print">
        {uncleared !== null && `${percent(uncleared)} uncleared, `}
        {percent(checked?.scorchedShare ?? outcome.scorchedShare)} scorched, tones off by{' '}
        {outcome.toneErrorL.toFixed(1)}
        {'\u00a0'}L*.{' '}
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
