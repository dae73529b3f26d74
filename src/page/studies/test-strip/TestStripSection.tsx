import { useEffect } from 'react';
import { Button } from 'react-aria-components';
import { mmPerMinToMmPerS, mmPerSToMmPerMin } from '../../../base/units.ts';
import { FEWEST_BANDS, MOST_BANDS, type StripOrder } from '../../../studies/test-strip/strip-order.ts';
import { LengthControl } from '../../fields/LengthControl.tsx';
import { More } from '../../fields/More.tsx';
import { PairSwitch } from '../../fields/PairSwitch.tsx';
import { ValueControl } from '../../fields/ValueControl.tsx';
import { usePieceStore } from '../../store/piece-store.ts';
import { setStrip, useStripStore } from './strip-store.ts';
import { burnStrip, firstOrder, stopStrip } from './test-strip.ts';
import '../choose/choose.css';
import '../rescue/rescue.css';
import { inBackground } from '../../faults/tell-fault.ts';
import { StripBands } from './StripBands.tsx';

/** The chosen part of the picture in bands on scrap, before the slab is touched; the maker's answer is taken in. */
export function TestStripSection() {
  const { order, busy, share, strip, askedFor, askedWith, fault, done } = useStripStore();
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
  if (!order) return <p className="plain">Looking for the part of the picture that tells most…</p>;
  const edit = (part: Partial<StripOrder>) => setStrip({ order: { ...order, ...part } });
  const stale = strip !== null && (askedFor !== piece || askedWith !== order);
  return (
    <div className="choose">
      <p className="plain">
        One part of the picture in bands, from too weak to too strong, on scrap of the same wood with the same coats.
        Burn it before the slab, then say which band is best.
      </p>
      <Ends order={order} edit={edit} />
      <ValueControl
        label="Bands"
        hint="More bands tell finer steps apart and take longer."
        unit=""
        value={order.bands}
        onChange={(bands) => edit({ bands: Math.round(bands) })}
        low={FEWEST_BANDS}
        high={MOST_BANDS}
        step={1}
        digits={0}
      />
      <More label="Part of the picture" note={`${order.crop.widthMm} × ${order.crop.heightMm} mm`}>
        <CropControls order={order} edit={edit} />
      </More>
      {busy ? (
        <div className="choose-busy">
          <span className="progress" role="progressbar" aria-label="Test strip" aria-valuenow={Math.round(100 * share)}>
            <span>{busy === 'burning' ? 'burning the bands' : 'taking it in'}…</span>
            <i style={{ width: `${100 * share}%` }} />
          </span>
          <Button className="quiet" onPress={stopStrip}>
            Stop
          </Button>
        </div>
      ) : (
        <Button className="wide" isDisabled={!hasPhoto} onPress={() => inBackground(burnStrip())}>
          Show the strip
        </Button>
      )}
      <div aria-live="polite">
        {fault && <p className="warning">{fault}</p>}
        {done && <p className="plain">{done}</p>}
        {stale && !done && <p className="small-print">Piece or strip have changed since: show it again.</p>}
      </div>
      {strip && askedWith && <StripBands strip={strip} order={askedWith} stale={askedFor !== piece} />}
    </div>
  );
}

interface EditProps {
  order: StripOrder;
  edit: (part: Partial<StripOrder>) => void;
}

function Ends({ order, edit }: EditProps) {
  const feeds = order.vary === 'feed';
  const feed = usePieceStore((state) => state.piece.passes[state.piece.passes.length - 1].feedMmPerS);
  const power = usePieceStore((state) => state.piece.passes[state.piece.passes.length - 1].lightEndPower);
  const vary = (id: StripOrder['vary']) => {
    if (id === order.vary) return;
    if (id === 'feed') edit({ vary: id, from: 1.4 * feed, to: 0.7 * feed });
    else edit({ vary: id, from: 0.7 * power, to: Math.min(1, 1.3 * power) });
  };
  const shown = (value: number) => (feeds ? mmPerSToMmPerMin(value) : 100 * value);
  const kept = (value: number) => (feeds ? mmPerMinToMmPerS(value) : value / 100);
  const range = feeds ? { low: 60, high: 60000, sliderHigh: 12000, step: 100 } : { low: 1, high: 100, step: 1 };
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
          label={end === 'from' ? 'First band' : 'Last band'}
          hint={
            end === 'from'
              ? 'Should be too weak to clear the light areas.'
              : 'Should be strong enough to clear them for sure.'
          }
          unit={feeds ? 'mm/min' : '%'}
          value={shown(order[end])}
          onChange={(value) => edit({ [end]: kept(value) })}
          digits={0}
          {...range}
        />
      ))}
    </>
  );
}

const CROP_EDGES = [
  { id: 'xMm', label: 'From the left', hint: 'Where the part begins, from the left edge of the picture.', low: 0 },
  { id: 'yMm', label: 'From the top', hint: 'Where it begins, from the top edge of the picture.', low: 0 },
  { id: 'widthMm', label: 'Width', hint: 'Wide enough to hold light and dark areas.', low: 3 },
  { id: 'heightMm', label: 'Height', hint: 'Of every band; taller takes longer to burn.', low: 3 },
] as const;

function CropControls({ order, edit }: EditProps) {
  const widthMm = usePieceStore((state) => state.piece.picture.widthMm);
  return (
    <>
      {CROP_EDGES.map(({ id, label, hint, low }) => (
        <LengthControl
          key={id}
          label={label}
          hint={hint}
          valueMm={order.crop[id]}
          onChange={(mm) => edit({ crop: { ...order.crop, [id]: Math.round(mm) } })}
          lowMm={low}
          highMm={3000}
          sliderHighMm={Math.round(widthMm)}
          stepMm={1}
          digits={0}
        />
      ))}
      <Button className="quiet" onPress={() => inBackground(firstOrder())}>
        Find the part that tells most
      </Button>
    </>
  );
}
