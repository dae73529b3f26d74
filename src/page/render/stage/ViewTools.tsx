import { Button, ToggleButton } from 'react-aria-components';
import type { SlabViewHandle } from '../../../render/slab/SlabView.tsx';
import { isJudged, likelyNumbers } from '../../burn/likely-numbers.ts';
import { setProof, useShown } from '../../burn/proof-store.ts';
import { percent } from '../../burn/words.ts';
import { inBackground } from '../../faults/tell-fault.ts';
import { saveFile } from '../../files/save-file.ts';
import { setSession, useSessionStore } from '../../store/session-store.ts';

/** What one reaches for while looking: marks with their legend, raking lamp, camera home, keep the view as a picture. */
export function ViewTools({ handle }: { handle: React.RefObject<SlabViewHandle | null> }) {
  const { uncleared, scorched, resetToken } = useSessionStore();
  const { left } = useShown();
  const likely = left && isJudged(left) ? likelyNumbers(left) : null;
  const keepView = async () => {
    const blob = await handle.current?.capture();
    if (blob) saveFile('view.png', blob, 'image/png');
    else setProof({ notice: 'The view could not be saved as a picture; try once more.' });
  };
  return (
    <div className="view-tools" role="toolbar" aria-label="View">
      <ToggleButton className="tool" isSelected={uncleared} onChange={(on) => setSession({ uncleared: on })}>
        <i className="swatch swatch-uncleared" aria-hidden="true" />
        Uncleared {likely ? percent(likely.unclearedShare) : ''}
      </ToggleButton>
      <ToggleButton className="tool" isSelected={scorched} onChange={(on) => setSession({ scorched: on })}>
        <i className="swatch swatch-scorched" aria-hidden="true" />
        Scorched {likely ? percent(likely.scorchedShare) : ''}
      </ToggleButton>
      <Button className="tool" onPress={() => setSession({ resetToken: resetToken + 1 })}>
        Whole slab
      </Button>
      <Button className="tool" onPress={() => inBackground(keepView())}>
        Save view
      </Button>
    </div>
  );
}
