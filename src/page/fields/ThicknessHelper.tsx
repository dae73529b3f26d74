import { useState } from 'react';
import { Button } from 'react-aria-components';
import { dryFromAmountUm, dryFromWetUm, spreadingRateM2PerL, wetForDryUm } from '../../physics/film/paint-build.ts';
import type { Coat, Slab } from '../../piece/schema.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { PairSwitch } from './PairSwitch.tsx';
import { ValueControl } from './ValueControl.tsx';

/** Share of the paint that lands on the slab when it is poured out, or sprayed (estimates; the rest goes past). */
const TRANSFER = { sprayed: 0.6, other: 0.95 };
/** A wet layer beyond this sags or wrinkles (common practice, no published source). */
const THICKEST_WET_UM = 150;

const faceAreaMm2 = ({ shape, widthMm, heightMm }: Slab): number =>
  (shape === 'oval' ? Math.PI / 4 : 1) * widthMm * heightMm;

/** Dry thickness from what the maker measured: a wet film, or paint used up. */
export function ThicknessHelper({ coat, onChange }: { coat: Coat; onChange: (part: Partial<Coat>) => void }) {
  const slab = usePieceStore((state) => state.piece.slab);
  const [known, setKnown] = useState<'wet' | 'amount'>('wet');
  const { volumeSolids, thinnerShare, layers } = coat;
  const wetNow = wetForDryUm(coat.dryThicknessUm / layers, volumeSolids, thinnerShare);
  const [wetUm, setWetUm] = useState(Math.round(wetNow));
  const [millilitres, setMillilitres] = useState(5);
  const transfer = coat.application.kind === 'sprayed' ? TRANSFER.sprayed : TRANSFER.other;
  const layerUm =
    known === 'wet'
      ? dryFromWetUm(wetUm, volumeSolids, thinnerShare)
      : dryFromAmountUm(millilitres, faceAreaMm2(slab), volumeSolids, thinnerShare, transfer);
  const dryUm = Math.min(1000, layerUm * layers);
  return (
    <>
      <ValueControl
        label="Layers"
        hint="Times the paint was put on to make this coat."
        unit=""
        value={layers}
        onChange={(value) => onChange({ layers: Math.round(value) })}
        low={1}
        high={20}
        step={1}
        digits={0}
      />
      <ValueControl
        label="Volume solids"
        hint="On the paint’s data sheet: the share that stays when it has dried."
        unit="%"
        value={100 * volumeSolids}
        onChange={(percent) => onChange({ volumeSolids: percent / 100 })}
        low={1}
        high={100}
        step={1}
        digits={1}
      />
      <ValueControl
        label="Thinner added"
        hint="Per volume of paint; it dries away."
        unit="%"
        value={100 * thinnerShare}
        onChange={(percent) => onChange({ thinnerShare: percent / 100 })}
        low={0}
        high={100}
        step={5}
        digits={0}
      />
      <PairSwitch
        label="You know the"
        value={known}
        options={[
          { id: 'wet', label: 'wet film' },
          { id: 'amount', label: 'paint used' },
        ]}
        onChange={setKnown}
      />
      {known === 'wet' ? (
        <ValueControl
          label="Wet film, each layer"
          hint="From a wet film comb."
          unit="µm"
          value={wetUm}
          onChange={setWetUm}
          low={1}
          high={1000}
          sliderHigh={300}
          step={5}
          digits={0}
        />
      ) : (
        <ValueControl
          label="Paint used, each layer"
          hint={`Thinned as it was used; about ${Math.round(100 * transfer)} % of it lands on the face.`}
          unit="mL"
          value={millilitres}
          onChange={setMillilitres}
          low={0.1}
          high={1000}
          sliderHigh={40}
          step={0.5}
          digits={1}
        />
      )}
      <p className="plain">
        {layers} × {layerUm.toFixed(1)} µm dry makes {dryUm.toFixed(0)} µm. At that thickness a litre covers{' '}
        {spreadingRateM2PerL(Math.max(dryUm, 0.1), volumeSolids).toFixed(1)} m².
      </p>
      <Button className="wide" onPress={() => onChange({ dryThicknessUm: dryUm })}>
        Use {dryUm.toFixed(0)} µm
      </Button>
      {wetNow > THICKEST_WET_UM && (
        <p className="plain">
          At {coat.dryThicknessUm.toFixed(0)} µm in {layers === 1 ? 'one layer' : `${layers} layers`} each is laid{' '}
          {wetNow.toFixed(0)} µm wet: that sags. Lay more and thinner layers, and let each dry.
        </p>
      )}
    </>
  );
}
