import { Button } from 'react-aria-components';
import type { LogEntry, Piece } from '../../piece/schema.ts';
import { useShown } from '../burn/proof-store.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { LogEntryCard } from './LogEntryCard.tsx';
import { useWrittenFiles } from './written-files.ts';

const MOST_ENTRIES = 200;

/** What was burned, with which files, and what came out: to be repeated or varied. */
export function BurnLog() {
  const log = usePieceStore((state) => state.piece.log);
  const files = useWrittenFiles((state) => state.files);
  const { left: record } = useShown();
  const change = (edit: (log: Piece['log']) => Piece['log']) =>
    usePieceStore.getState().change((piece) => ({ ...piece, log: edit(piece.log) }));
  const enter = () => {
    const { piece } = usePieceStore.getState();
    const entry: LogEntry = {
      burnedAt: localIso(new Date()),
      passes: piece.passes,
      files: [...files],
      minutes: Math.round((record?.result?.summary.burnTimeS ?? 0) / 60),
      outcome: 'good',
      note: '',
      photo: null,
    };
    change((entries) => [...entries, entry].slice(-MOST_ENTRIES));
    useWrittenFiles.setState({ files: [] });
  };
  return (
    <>
      <Button className="wide" onPress={enter}>
        I have burned this
      </Button>
      <p className="hint">
        {files.length > 0
          ? `Enters today’s settings with ${files.map(({ name }) => name).join(', ')} and their fingerprints.`
          : 'Enters today’s settings; save the machine’s files first and their fingerprints are kept too.'}
      </p>
      {log
        .map((entry, i) => (
          <LogEntryCard
            // biome-ignore lint/suspicious/noArrayIndexKey: entries keep their place; nothing is put before another
            key={i}
            entry={entry}
            onChange={(part) => change((entries) => entries.map((one, at) => (at === i ? { ...one, ...part } : one)))}
            onRemove={() => change((entries) => entries.filter((_, at) => at !== i))}
            onRepeat={() => usePieceStore.getState().change((piece) => ({ ...piece, passes: entry.passes }))}
          />
        ))
        .toReversed()}
    </>
  );
}

/** Date and time with the zone, as ISO 8601 writes it. */
function localIso(date: Date): string {
  const offset = -date.getTimezoneOffset();
  const two = (value: number) => String(Math.trunc(Math.abs(value))).padStart(2, '0');
  const local = new Date(date.getTime() + offset * 60_000).toISOString().slice(0, 19);
  return `${local}${offset < 0 ? '-' : '+'}${two(offset / 60)}:${two(offset % 60)}`;
}
