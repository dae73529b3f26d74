import { useEffect } from 'react';
import { Button } from 'react-aria-components';
import { create } from 'zustand';
import { fileName } from '../../../base/file-name.ts';
import { wholeQuantity } from '../../../base/quantity.ts';
import { fieldOf } from '../../../piece/fields.ts';
import type { Piece } from '../../../piece/schema.ts';
import { BANDS, type StripOrder } from '../../../studies/test-strip/strip-piece.ts';
import { ask } from '../../burn/proof-remote.ts';
import { duration, percent } from '../../burn/proof-store.ts';
import type { TestStripAnswer } from '../../burn/worker/questions.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { BriefCautions } from '../../fields/BriefCautions.tsx';
import { More } from '../../fields/SheetDialog.tsx';
import { Study } from '../../fields/TaskProgress.tsx';
import { ChoiceControl, PairSwitch, ValueControl } from '../../fields/ValueControl.tsx';
import { saveFile } from '../../files/save-file.ts';
import { createTask, faultOf } from '../../remote/task.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import '../study.css';

/** The chosen part of the picture in bands on scrap, before the slab is touched; the maker's answer is taken in. */
export function TestStripSection() {
  const order = useStripStore((state) => state.order);
  const strip = useStripStore((state) => state.strip);
  const askedFor = useStripStore((state) => state.askedFor);
  const askedWith = useStripStore((state) => state.askedWith);
  const fault = trying.use((state) => state.fault);
  const said = trying.use((state) => state.said);
  const piece = usePieceStore((state) => state.piece);
  const hasPhoto = usePieceStore((state) => state.photo !== null);
  useEffect(() => {
    if (hasPhoto && !order) inBackground(firstOrder());
  }, [hasPhoto, order]);
  if (!order && fault) {
    return (
      <>
        <p className="warning">{fault}</p>
        <Button className="wide" isDisabled={!hasPhoto} onPress={() => inBackground(firstOrder())}>
          Try again
        </Button>
      </>
    );
  }
  if (!order) return <p className="plain">Looking for the part of the picture that shows most…</p>;
  const edit = (part: Partial<StripOrder>) => setStrip({ order: { ...order, ...part } });
  const stale = strip !== null && (askedFor !== piece || askedWith !== order);
  return (
    <div className="study">
      <p className="plain">
        One part of the picture in bands, from too weak to too strong, on scrap of the same wood with the same coats.
        Burn it before the slab, then say which band is best.
      </p>
      <Ends order={order} edit={edit} />
      <ValueControl
        of={BANDS}
        hint="More bands show finer steps and take longer."
        value={order.bands}
        onChange={(bands) => edit({ bands })}
      />
      <More label="Part of the picture" note={`${order.crop.widthMm} × ${order.crop.heightMm} mm`}>
        <CropControls order={order} edit={edit} />
      </More>
      <Study of={trying} label="Test strip" asks="Show the strip" onAsk={burnStrip}>
        {stale && !said && <p className="small-print">Piece or strip have changed since: show it again.</p>}
      </Study>
      {strip && askedWith && <StripBands strip={strip} order={askedWith} stale={askedFor !== piece} />}
    </div>
  );
}

interface EditProps {
  order: StripOrder;
  edit: (part: Partial<StripOrder>) => void;
}

/** What goes from band to band is a setting of the last pass. */
const END_FIELDS = { power: fieldOf('passes.0.lightEndPower'), feed: fieldOf('passes.0.feedMmPerS') };

function Ends({ order, edit }: EditProps) {
  const feed = usePieceStore((state) => state.piece.passes[state.piece.passes.length - 1].feedMmPerS);
  const power = usePieceStore((state) => state.piece.passes[state.piece.passes.length - 1].lightEndPower);
  const vary = (id: StripOrder['vary']) => {
    if (id === order.vary) return;
    if (id === 'feed') edit({ vary: id, from: 1.4 * feed, to: 0.7 * feed });
    else edit({ vary: id, from: 0.7 * power, to: Math.min(1, 1.3 * power) });
  };
  return (
    <>
      <PairSwitch
        label="From band to band"
        value={order.vary}
        options={[
          { id: 'power', label: 'More power' },
          { id: 'feed', label: 'Slower' },
        ]}
        onChange={vary}
        hint="Both bring more light; everything else stays as in the last pass."
      />
      {(['from', 'to'] as const).map((end) => (
        <ValueControl
          key={end}
          of={{ ...END_FIELDS[order.vary], label: end === 'from' ? 'First band' : 'Last band' }}
          hint={
            end === 'from'
              ? 'Should be too weak to clear the light areas.'
              : 'Should certainly be strong enough to clear them.'
          }
          value={order[end]}
          onChange={(value) => edit({ [end]: value })}
        />
      ))}
    </>
  );
}

const WHOLE_MM = { unit: 'mm', step: 1, digits: 0 } as const;

const CROP_EDGES = {
  xMm: wholeQuantity(0, 3000, { label: 'From the left', ...WHOLE_MM }),
  yMm: wholeQuantity(0, 3000, { label: 'From the top', ...WHOLE_MM }),
  widthMm: wholeQuantity(3, 3000, { label: 'Width', ...WHOLE_MM }),
  heightMm: wholeQuantity(3, 3000, { label: 'Height', ...WHOLE_MM }),
};

const CROP_HINTS = [
  { id: 'xMm', hint: 'Where the part begins, from the left edge of the picture.' },
  { id: 'yMm', hint: 'Where it begins, from the top edge of the picture.' },
  { id: 'widthMm', hint: 'Wide enough to hold light and dark areas.' },
  { id: 'heightMm', hint: 'Of every band; taller takes longer to burn.' },
] as const;

function CropControls({ order, edit }: EditProps) {
  const widthMm = usePieceStore((state) => state.piece.picture.widthMm);
  return (
    <>
      {CROP_HINTS.map(({ id, hint }) => (
        <ValueControl
          key={id}
          of={{ ...CROP_EDGES[id], sliderHigh: Math.round(widthMm) }}
          hint={hint}
          value={order.crop[id]}
          onChange={(mm) => edit({ crop: { ...order.crop, [id]: mm } })}
        />
      ))}
      <Button className="quiet" onPress={() => inBackground(firstOrder())}>
        Find the part that shows most
      </Button>
    </>
  );
}

interface StripBandsProps {
  strip: TestStripAnswer;
  order: StripOrder;
  /** The piece has changed since, so an answer would not be about it. */
  stale: boolean;
}

/** The strip as it will look, what each band comes out as, and what the maker saw once it was burned. */
function StripBands({ strip, order, stale }: StripBandsProps) {
  const pictureUrl = useStripStore((state) => state.pictureUrl);
  const clears = useStripStore((state) => state.clears);
  const scorches = useStripStore((state) => state.scorches);
  const busy = trying.use((state) => state.busy !== null);
  const unit = order.vary === 'power' ? '%' : 'mm/min';
  const bands = strip.bands.map(({ band }) => ({
    id: String(band.number),
    label: `Band ${band.number}, ${band.label} ${unit}`,
  }));
  const unseen = { id: '-1', label: 'Not looked yet' };
  const none = { id: '0', label: 'None of them' };
  return (
    <section className="study-result" aria-label="The test strip">
      {pictureUrl && (
        <img className="strip-picture" src={pictureUrl} alt="The strip as it will look, first band at the top" />
      )}
      <table className="study-table">
        <thead>
          <tr>
            <th scope="col">band</th>
            <th scope="col">{unit}</th>
            <th scope="col">left dark</th>
            <th scope="col">scorched</th>
          </tr>
        </thead>
        <tbody>
          {strip.bands.map(({ band, uncleared, scorched }) => (
            <tr key={band.number}>
              <th scope="row">{band.number}</th>
              <td>{band.label}</td>
              <td>{uncleared === null ? 'no light' : percent(uncleared)}</td>
              <td>{percent(scorched)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p className="small-print">
        Scrap of {strip.widthMm} × {strip.heightMm} mm, {duration(strip.burnTimeS)}. The burn job is one archive: the
        lap round the scrap, the programs, where to lay it, what to do.
      </p>
      <BriefCautions />
      <div className="suggestion-actions">
        <Button isDisabled={stale || busy} onPress={() => inBackground(saveStripJob())}>
          Save the burn job
        </Button>
        <Button className="quiet" onPress={saveStrip}>
          as a piece
        </Button>
      </div>
      <h4 className="strip-answer">Once it is burned</h4>
      <ChoiceControl
        label="The first band that is clear"
        hint="Light areas without blotches or veil, seen from where the piece will be seen."
        value={String(clears)}
        choices={[unseen, ...bands, none]}
        onChange={(id) => setStrip({ clears: Number(id) })}
      />
      <ChoiceControl
        label="The first band that is scorched"
        hint="Yellow or brown where the undercoat shows. May be left open."
        value={String(scorches)}
        choices={[unseen, ...bands, none]}
        onChange={(id) => setStrip({ scorches: Number(id) })}
      />
      <Button className="wide" isDisabled={clears < 0 || stale || busy} onPress={() => inBackground(takeStripIn())}>
        Take it in
      </Button>
    </section>
  );
}

/** Size of the part that is tried at first, mm: what is told apart at arm's length, and short to burn. */
const FIRST_CROP = { widthMm: 40, heightMm: 10 };

/** Powers tried at first, over the last pass's. */
const FIRST_FROM = 0.7;

const FIRST_TO = 1.3;

/** The strip being made or answered. */
const trying = createTask();

const keyOf = (): string => usePieceStore.getState().photo?.key ?? '';

/** Takes an order to start from, or says why there is none. */
async function firstOrder(): Promise<void> {
  trying.tell({ fault: null });
  try {
    setStrip({ order: await likelyOrder() });
  } catch (error) {
    trying.tell({ fault: faultOf(error) });
  }
}

/** The part of the picture that tells most, powers round those of the last pass. */
async function likelyOrder(): Promise<StripOrder> {
  const { piece } = usePieceStore.getState();
  const { widthMm, heightMm } = FIRST_CROP;
  const width = Math.min(widthMm, piece.picture.widthMm / 2);
  const crop = await ask('telling-crop', { piece, photoKey: keyOf(), widthMm: width, heightMm });
  const power = piece.passes[piece.passes.length - 1].lightEndPower;
  const round = (share: number) => Math.min(1, Math.round(100 * share) / 100);
  return {
    crop: { xMm: Math.round(crop.xMm), yMm: Math.round(crop.yMm), widthMm: Math.round(width), heightMm },
    vary: 'power',
    from: round(FIRST_FROM * power),
    to: round(Math.max(FIRST_TO * power, power + 0.1)),
    bands: 5,
  };
}

/** Proves the strip. */
async function burnStrip(): Promise<void> {
  const { order, pictureUrl } = useStripStore.getState();
  if (!order) return;
  const { piece } = usePieceStore.getState();
  if (pictureUrl) URL.revokeObjectURL(pictureUrl);
  setStrip({ strip: null, pictureUrl: null, askedFor: piece, askedWith: order, clears: -1, scorches: -1 });
  await trying.run('computing the bands', async (options) => {
    const strip = await ask('test-strip', { piece, photoKey: keyOf(), order }, options);
    const url = URL.createObjectURL(new Blob([strip.picture as BlobPart], { type: 'image/png' }));
    setStrip({ strip, pictureUrl: url });
  });
}

/** Takes in what the maker saw on the burned strip: one step of undo. */
async function takeStripIn(): Promise<void> {
  const { askedWith: order, clears, scorches } = useStripStore.getState();
  if (!order || clears < 0) return;
  const { piece } = usePieceStore.getState();
  const answer = { clears: clears || null, ...(scorches >= 0 && { scorches: scorches || null }) };
  await trying.run('taking it in', async (options) => {
    const lesson = await ask('strip-lesson', { piece, photoKey: keyOf(), order, answer }, options);
    if (usePieceStore.getState().piece !== piece) return;
    if (!lesson.agrees) {
      throw new Error(
        'No such paint and machine would give these bands. Check that the strip was burned with these coats, watts and focus; nothing was taken in.',
      );
    }
    usePieceStore.getState().change(() => lesson.piece);
    const [before, after] = [piece, lesson.piece].map(({ stack }) => stack.coats[0]);
    trying.tell({
      said: `Taken in: the top coat’s threshold changes by ${change(before.thresholdJPerMm2, after.thresholdJPerMm2)}, its specific energy by ${change(before.specificEnergyJPerMm3, after.specificEnergyJPerMm3)}. Undo takes it back.`,
    });
  });
}

/** Saves all that burning the strip takes. */
async function saveStripJob(): Promise<void> {
  const { askedWith: order, askedFor: piece } = useStripStore.getState();
  if (!order || !piece) return;
  await trying.run('writing the programs', async (options) => {
    const made = await ask('strip-job', { piece, photoKey: keyOf(), order }, options);
    if ('refusals' in made) throw new Error(made.refusals.map(({ message }) => message).join(' '));
    const name = `${fileName(piece.name)}-test-strip.zip`;
    saveFile(name, made.zip, 'application/zip');
    trying.tell({
      said: `Saved ${name}: ${made.programs} programs, to be run in their order, ${duration(made.timeS)} of burning. ${made.cautions.join(' ')}`.trim(),
    });
  });
}

function saveStrip(): void {
  const { strip } = useStripStore.getState();
  const name = usePieceStore.getState().piece.name || 'piece';
  if (strip) saveFile(`${name}, test strip.foreburn`, strip.file, 'application/zip');
}

const change = (before: number, after: number): string => {
  const percent = Math.round((100 * after) / before - 100);
  return `${percent > 0 ? '+' : percent < 0 ? '−' : ''}${Math.abs(percent)} %`;
};

/** The test strip being made or answered: kept while its section is folded away, never saved. */
interface StripState {
  /** What it tries; null until the piece has told where its picture tells most. */
  readonly order: StripOrder | null;
  readonly strip: TestStripAnswer | null;
  /** Shows the strip's picture. */
  readonly pictureUrl: string | null;
  readonly askedFor: Piece | null;
  readonly askedWith: StripOrder | null;
  /** Bands as the maker saw them; 0 for none, −1 for not looked at. */
  readonly clears: number;
  readonly scorches: number;
}

const useStripStore = create<StripState>()(() => ({
  order: null,
  strip: null,
  pictureUrl: null,
  askedFor: null,
  askedWith: null,
  clears: -1,
  scorches: -1,
}));

const setStrip = useStripStore.setState;
