import { useState } from 'react';
import { Button, Dialog, DialogTrigger, Heading, Popover } from 'react-aria-components';
import { copySettings, SETTINGS, type Setting } from '../../shop/copy-settings.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { openDatabase } from '../store/database.ts';
import { useKeepingStore } from '../store/keeping.ts';
import { keptState } from '../store/library.ts';
import { editPieces, type Line, setBoard } from './board-store.ts';
import { Ticks } from './Ticks.tsx';

const WORDS: Readonly<Record<Setting, { readonly label: string; readonly note: string }>> = {
  coats: { label: 'Coats', note: 'paints, layers, drying, evenness' },
  machine: { label: 'Machine', note: 'source, motion, controller, bed' },
  passes: { label: 'Passes', note: 'powers, feed, rows, screen, focus' },
  tones: { label: 'Tones', note: 'lightness, steepness, curve, sharpening' },
  rates: { label: 'Rates and terms', note: 'of the quote, without client and options' },
};

interface CopySettingsProps {
  lines: readonly Line[];
  chosen: ReadonlySet<string>;
}

/** Has the pieces that are chosen take settings from another. */
export function CopySettings({ lines, chosen }: CopySettingsProps) {
  const onTable = useKeepingStore((state) => state.id);
  const able = lines.filter(({ summary }) => summary !== null);
  const first = able.find(({ id }) => id === onTable) ?? able.find(({ id }) => chosen.has(id));
  const [picked, setPicked] = useState<string | null>(null);
  const [which, setWhich] = useState<readonly Setting[]>(['coats', 'machine', 'passes']);
  const source = able.find(({ id }) => id === picked) ?? first;
  const targets = [...chosen].filter((id) => id !== source?.id);
  const copy = async () => {
    if (!source) return;
    const from = (await keptState(await openDatabase(), source.id))?.piece;
    if (!from) {
      setBoard({ fault: `“${source.title}” is not kept any more` });
      return;
    }
    const what = which.map((setting) => WORDS[setting].label.toLowerCase()).join(', ');
    await editPieces(`Copy ${what} of “${source.title}”`, targets, (piece) => copySettings(piece, from, which));
  };
  return (
    <DialogTrigger>
      <Button className="quiet">Copy settings…</Button>
      <Popover className="choice-popover board-copy" placement="top start">
        <Dialog aria-label="Copy settings">
          {({ close }) => (
            <>
              <Heading slot="title">Copy settings</Heading>
              <label className="board-from">
                <span>From</span>
                <select
                  value={source?.id ?? ''}
                  aria-label="Piece to copy from"
                  onChange={(event) => setPicked(event.currentTarget.value)}
                >
                  {able.map(({ id, title }) => (
                    <option key={id} value={id}>
                      {title}
                    </option>
                  ))}
                </select>
              </label>
              <Ticks label="Which settings" all={SETTINGS} words={WORDS} chosen={which} onChange={setWhich} />
              <Button
                className="wide sheet-main"
                isDisabled={targets.length === 0 || which.length === 0}
                onPress={() => {
                  close();
                  inBackground(copy());
                }}
              >
                {targets.length === 0
                  ? 'Choose pieces to copy to'
                  : `Copy to ${targets.length === 1 ? 'one piece' : `${targets.length} pieces`}`}
              </Button>
              <p className="hint">Undo on the board takes it back. Proofs of these pieces are out of date then.</p>
            </>
          )}
        </Dialog>
      </Popover>
    </DialogTrigger>
  );
}
