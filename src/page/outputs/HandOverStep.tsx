import { useEffect, useState } from 'react';
import { Button, Input, Label, TextField } from 'react-aria-components';
import { CAUTION_CLOSE, CAUTIONS } from '../../base/cautions.ts';
import { fileName } from '../../base/file-name.ts';
import { sumQuote } from '../../outputs/paper/quote-paper.ts';
import type { LogEntry, Piece, QuoteSettings } from '../../piece/schema.ts';
import { ask } from '../burn/proof-remote.ts';
import { isWhole, type ProofRecord, setProof, useShown } from '../burn/proof-store.ts';
import type { PictureKind } from '../burn/worker/questions.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { More } from '../fields/SheetDialog.tsx';
import { UncalibratedMark } from '../fields/UncalibratedMark.tsx';
import { saveFile } from '../files/save-file.ts';
import { BedControls } from '../physics/BedControls.tsx';
import { BurnDialog } from '../render/mockup/BurnDialog.tsx';
import { MockupDialog } from '../render/mockup/MockupDialog.tsx';
import { openBurn, openMockup } from '../render/mockup/mockup-actions.ts';
import { savePieceFile } from '../store/keeping.ts';
import { openCode } from '../store/open-first.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { LogEntryCard } from './LogEntryCard.tsx';
import { MachineJob } from './MachineJob.tsx';
import { MakerControls } from './MakerControls.tsx';
import { makeBenchSheet, makeQuote } from './make-papers.ts';
import { PaperButtons } from './PaperButtons.tsx';
import { QuoteOptions, QuoteTerms } from './QuoteTerms.tsx';
import { useWrittenFilesStore } from './use-machine-files.ts';
import './hand-over.css';

export function HandOverStep() {
  const piece = usePieceStore((state) => state.piece);
  const { left: record } = useShown();
  const source = record?.piece.certainty.source;

  return (
    <>
      <Button className="wide" onPress={savePieceFile}>
        Save the piece
      </Button>
      <p className="hint">Everything in one file: slab, coats, photograph, machine, passes.</p>
      {source === 'preset' && (
        <p className="plain">
          What follows is predicted, <UncalibratedMark source={source} />: let the client know.
        </p>
      )}
      <More label="For the machine" note="job files">
        <MachineJob />
      </More>
      <More label="For the bench" note="sheet to print">
        <BenchSheet />
      </More>
      <More label="Watch it burn" note="row by row">
        <WatchBurn />
      </More>
      <More label="For the client" note="mock-up and quote">
        <h3 className="client-part">Mock-up</h3>
        <MockUp />
        <h3 className="client-part">Quote</h3>
        <Quote />
      </More>
      <More label="Your name and mark" note="on papers">
        <MakerControls />
      </More>
      <More label="What was burned" note={piece.log.length > 0 ? String(piece.log.length) : 'log'}>
        <BurnLog />
      </More>
      <More label="Pictures and numbers" note="files">
        <PicturesAndNumbers />
      </More>
      <More label="Place on the bed">
        <BedControls />
      </More>
      <section className="cautions" aria-label="Cautions">
        <h3>Before you burn</h3>
        <ul>
          {CAUTIONS.map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
        <p>{CAUTION_CLOSE}</p>
      </section>
    </>
  );
}

interface OpensProofProps {
  label: string;
  hint: string;
  onOpen: (record: ProofRecord) => Promise<void>;
}

/** Opens what is made of a finished proof. */
function OpensProof({ label, hint, onOpen }: OpensProofProps) {
  const { left: record } = useShown();
  const done = record !== null && isWhole(record);
  return (
    <>
      <Button className="wide" isDisabled={!done} onPress={() => record && inBackground(onOpen(record))}>
        {label}
      </Button>
      <p className="hint">{done ? hint : 'Once the proof is finished.'}</p>
    </>
  );
}

/** The finished slab in its settings, with all that can be saved of it. */
const MockUp = () => (
  <>
    <OpensProof
      label="Open the mock-up"
      hint="The finished slab on a shelf, beside a cup, on a wall: stills, clips, models, and a file for the client."
      onOpen={openMockup}
    />
    <MockupDialog />
  </>
);

/** The burn, row by row. */
const WatchBurn = () => (
  <>
    <OpensProof
      label="Open the burn"
      hint="The slab as it stands after any minute of any pass, the time left, and what a stop does."
      onOpen={openBurn}
    />
    <BurnDialog />
  </>
);

const MOST_ENTRIES = 200;

/** What was burned, with which files, and what came out: to be repeated or varied. */
function BurnLog() {
  const log = usePieceStore((state) => state.piece.log);
  const files = useWrittenFilesStore((state) => state.files);
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
    useWrittenFilesStore.setState({ files: [] });
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

/** The proof, its map, its numbers and the prepared picture as files. */
function PicturesAndNumbers() {
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const { left: record } = useShown();
  const done = record?.status === 'done';
  const base = fileName(piece.name);
  const savePicture = async (which: PictureKind) => {
    if (!record) return;
    const png = await ask('picture', { id: record.id, which }).catch(() => null);
    if (png) saveFile(`${base}-${which}.png`, png, 'image/png');
    else setProof({ notice: 'The picture could not be made; compute the proof once more and try again.' });
  };
  const savePrepared = async () => {
    if (!photo) return;
    const png = await ask('prepared', { piece, photoKey: photo.key }).catch(() => null);
    if (png) saveFile(`${base}-prepared.png`, png, 'image/png');
    else setProof({ notice: 'The picture could not be prepared; open the photograph once more and try again.' });
  };
  const saveReport = () => {
    if (!record?.result) return;
    const { summary, passes, direction, backend, stagesMs } = record.result;
    const { map: _, ...bands } = record.sure ?? { map: null };
    const report = {
      ...summary,
      bands: record.sure && bands,
      direction,
      backend,
      passes,
      stagesMs,
      settings: record.piece,
    };
    const text = `${JSON.stringify(report, null, 2)}\n`;
    saveFile(`${base}-report.json`, new TextEncoder().encode(text), 'application/json');
  };

  return (
    <>
      <Button className="wide" isDisabled={!done} onPress={() => inBackground(savePicture('proof'))}>
        Save the proof as PNG
      </Button>
      <p className="hint">At the row pitch, with its true size in the file.</p>
      <Button className="wide" isDisabled={!done} onPress={() => inBackground(savePicture('uncleared'))}>
        Save the map of places left dark
      </Button>
      <Button className="wide" isDisabled={!done} onPress={saveReport}>
        Save the numbers
      </Button>
      <p className="hint">Shares, depths, time and all settings, as JSON.</p>
      <Button className="wide" isDisabled={!photo} onPress={() => inBackground(savePrepared())}>
        Save the prepared picture
      </Button>
      <p className="hint">As the machine gets it: its true size in the file, transparent where nothing burns.</p>
    </>
  );
}

/** A quote for the client: what the maker charges, options side by side, and the page that is sent. */
function Quote() {
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const { left: record } = useShown();
  const seconds = useOptionSeconds();
  const change = (part: Partial<QuoteSettings>) =>
    usePieceStore.getState().change((now) => ({ ...now, quote: { ...now.quote, ...part } }));
  const sums = seconds && piece.quote.options.map((option, i) => sumQuote(piece, option, seconds[i] ?? 0));
  const make = async () => {
    if (!photo || !sums) throw new Error('The burn times are still being worked out; try again in a moment.');
    // A pinned proof may be on the table, of other settings than the quote is for.
    const own = record?.status === 'done' && looksAlike(record.piece, piece) ? record : null;
    return makeQuote({ piece, photo }, sums, own?.id ?? null);
  };
  return (
    <>
      <QuoteOptions
        quote={piece.quote}
        sums={sums}
        own={{ widthMm: piece.picture.widthMm, passes: piece.passes.length }}
        onChange={change}
      />
      <More label="Rates, client, terms">
        <QuoteTerms quote={piece.quote} onChange={change} />
      </More>
      <PaperButtons what="quote" fileName={`${fileName(piece.name)}-quote`} isDisabled={!sums} make={make} />
      <p className="hint">The client sees options, net, tax and total, not your costs. Nothing leaves this computer.</p>
    </>
  );
}

/** Whether two pieces come out alike: what is only written on papers or told to the machine is left out. */
const looksAlike = (one: Piece, other: Piece): boolean =>
  JSON.stringify([one.slab, one.stack, one.picture, one.passes]) ===
  JSON.stringify([other.slab, other.stack, other.picture, other.passes]);

/** Burn time of each option; null while it is not known. Asked again when what decides it changes. */
function useOptionSeconds(): readonly number[] | null {
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const [answer, setAnswer] = useState<{ key: string; seconds: readonly number[] } | null>(null);
  const { slab, picture, passes, machine, stack, quote } = piece;
  const sizes = quote.options.map(({ pictureWidthMm, passes: count }) => [pictureWidthMm, count]);
  const key = JSON.stringify([photo?.key, slab, stack, picture, passes, machine, sizes]);
  useEffect(() => {
    if (!photo) return;
    const leaving = new AbortController();
    const timer = setTimeout(() => {
      ask('option-seconds', { piece: usePieceStore.getState().piece, photoKey: photo.key }, { signal: leaving.signal })
        .then((seconds) => setAnswer({ key, seconds }))
        .catch(() => undefined);
    }, 400);
    return () => {
      clearTimeout(timer);
      leaving.abort();
    };
  }, [key, photo]);
  return answer?.key === key ? answer.seconds : null;
}

function OpenByCode() {
  const [typed, setTyped] = useState('');
  return (
    <form
      className="code-form"
      onSubmit={(event) => {
        event.preventDefault();
        inBackground(openCode(typed).then((opened) => opened && setTyped('')));
      }}
    >
      <TextField className="text-field" value={typed} onChange={setTyped} maxLength={20}>
        <Label>Code of a sheet</Label>
        <Input placeholder="7KQ2-M0XB" autoComplete="off" />
      </TextField>
      <Button type="submit" className="quiet" isDisabled={typed.trim() === ''}>
        Open
      </Button>
    </form>
  );
}

/** The paper that lies beside the machine. */
function BenchSheet() {
  const photo = usePieceStore((state) => state.photo);
  const { left: record } = useShown();
  const result = record?.status === 'done' ? record.result : null;
  const make = async () => {
    if (!record || !result || !photo) throw new Error('Wait until the proof is done.');
    return makeBenchSheet({ piece: record.piece, photo }, { id: record.id, result, sure: record.sure });
  };
  return (
    <>
      <PaperButtons
        what="bench sheet"
        fileName={`${fileName(record?.piece.name ?? '')}-bench-sheet`}
        isDisabled={!result}
        make={make}
      />
      <p className="hint">
        Coats and amounts, settings, order of work, placement, powers to try first, cautions, room for what came out.
        Its code opens this piece again on this computer.
      </p>
      <OpenByCode />
    </>
  );
}
