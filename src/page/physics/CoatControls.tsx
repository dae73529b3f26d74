import { useMemo, useState } from 'react';
import { Button } from 'react-aria-components';
import { quantity } from '../../base/quantity.ts';
import { dryFromAmountUm, dryFromWetUm, spreadingRateM2PerL, wetForDryUm } from '../../physics/film/spray-fan.ts';
import {
  contrastRatio,
  HIDING_CONTRAST,
  kinship,
  layersToHide,
  showingInWords,
  showThrough,
} from '../../physics/material/hiding.ts';
import { speciesOf } from '../../piece/defaults.ts';
import { fieldOf } from '../../piece/fields.ts';
import type { Coat, Slab, Wood } from '../../piece/schema.ts';
import { ColorControl } from '../fields/ColorControl.tsx';
import { Field, RemovalControls } from '../fields/Field.tsx';
import { LayingControls } from '../fields/LayingControls.tsx';
import { OfPart } from '../fields/of-part.tsx';
import { More } from '../fields/SheetDialog.tsx';
import { NameControl, PairSwitch, SwitchControl, ValueControl } from '../fields/ValueControl.tsx';
import { changeStack, usePieceStore } from '../store/piece-store.ts';

/** One coat of the stack. */
export function CoatControls({ index }: { index: number }) {
  const coats = usePieceStore((state) => state.piece.stack.coats);
  const wood = usePieceStore((state) => state.piece.slab.wood);
  const coat = coats[index];
  const of = `stack.coats.${index}` as const;
  const title = index === 0 ? 'Top coat' : index === coats.length - 1 ? 'Undercoat' : `Coat ${coats.length - index}`;
  const edit = (part: Partial<Coat>) =>
    changeStack((old) => ({ ...old, coats: old.coats.map((one, i) => (i === index ? { ...one, ...part } : one)) }));
  const warning = layerWords(coat);
  return (
    <OfPart value={coats.length > 1 ? title.toLowerCase() : ''}>
      <section className="setting-block" aria-label={title}>
        <header>
          <h3>{title}</h3>
          <Button
            className="quiet"
            aria-label={`Remove ${title.toLowerCase()}`}
            onPress={() => changeStack((old) => ({ ...old, coats: old.coats.filter((_, i) => i !== index) }))}
          >
            Remove
          </Button>
        </header>
        <NameControl label="Name" value={coat.name} onChange={(name) => edit({ name })} />
        <CoatColor coat={coat} wood={wood} onTop={index === 0} onChange={edit} />
        <Field of={`${of}.dryThicknessUm`} hint="A thicker coat takes more power to get through." />
        {warning && <p className="warning">{warning}</p>}
        <HidingLine coats={coats} index={index} />
        <More label="Work out the thickness">
          <ThicknessHelper of={of} coat={coat} onChange={edit} />
        </More>
        <LayingControls of={of} coat={coat} onChange={edit} />
        <SwitchControl
          label="Rubbed down when dry"
          hint="Takes off most of the wood’s grain that stands out on it, so that the next coat lies more evenly."
          value={coat.sandedAfter}
          onChange={(sandedAfter) => edit({ sandedAfter })}
        />
        <Field
          of={`${of}.slowVariation`}
          hint="What no stroke explains, over centimetres: thick places stay blotchy first."
        />
        <More label="More about this coat">
          <CoatDetails of={of} coat={coat} onChange={edit} />
        </More>
      </section>
    </OfPart>
  );
}

/** What still shows through a coat, in words. */
function HidingLine({ coats, index }: { coats: readonly Coat[]; index: number }) {
  const wood = usePieceStore((state) => state.piece.slab.wood);
  const knots = usePieceStore((state) => state.piece.slab.knots);
  const text = useMemo(() => hidingWords(coats, index, { wood, knots }), [coats, index, wood, knots]);
  return <p className="plain">{text}</p>;
}

/** Says when a top coat will look unnatural beside the bark and the bare wood; nothing when all is well. */
export function KinshipLine({ coat, wood }: { coat: Coat; wood: Wood }) {
  const { concern } = useMemo(() => kinship(coat.colorLab, wood), [coat.colorLab, wood]);
  return concern === null ? null : <p className="plain">{concern}</p>;
}

type Layered = Pick<Coat, 'dryThicknessUm' | 'layers' | 'usualLayerUm'>;

/** What to say when the layers of a coat are thicker or thinner than its maker calls usual; null when they are not. */
export function layerWords({ dryThicknessUm, layers, usualLayerUm: [low, high] }: Layered): string | null {
  const layerUm = dryThicknessUm / layers;
  if (layerUm <= 0 || (layerUm >= low && layerUm <= high)) return null;
  const each = layers === 1 ? 'The one application' : 'Each application';
  const usual = `${each} is ${plain(layerUm)} µm; its maker calls ${plain(low)} to ${plain(high)} µm usual.`;
  return layerUm > high
    ? `${usual} Thick films skin over, stay soft underneath and burn badly: lay more, thinner ones, and let each cure.`
    : `${usual} Films as thin as that may not close and dry rough: lay fewer, fuller ones.`;
}

const plain = (um: number): string => String(Number(um.toFixed(um < 10 ? 1 : 0)));

interface CoatColorProps {
  coat: Coat;
  wood: Wood;
  /** Only what lies open beside bark and wood is compared with them. */
  onTop: boolean;
  onChange: (part: Partial<Coat>) => void;
}

/** The colour of a coat: picked, typed in, or read off a photograph; how near it is to the tint it was meant to be. */
function CoatColor({ coat, wood, onTop, onChange }: CoatColorProps) {
  return (
    <>
      <ColorControl
        label="Colour"
        hint="Of the dry coat where it hides what is under it."
        lab={coat.colorLab}
        onChange={(colorLab) => onChange({ colorLab })}
        wanted={coat.wantedLab}
        onWantedChange={(wantedLab) => onChange({ wantedLab })}
      />
      {onTop && <KinshipLine coat={coat} wood={wood} />}
    </>
  );
}

/** Whether a coat hides what is under it, and what of this slab's wood shows through it and the coats under it. Coats topmost first. */
export function hidingWords(coats: readonly Coat[], index: number, slab: Pick<Slab, 'wood' | 'knots'>): string {
  const coat = coats[index];
  const seen = showThrough(coats.slice(index), slab.wood);
  const species = speciesOf(slab.wood) ? `the ${slab.wood.name.toLowerCase()}` : 'this wood';
  const parts = [{ what: `the rings of ${species}`, deltaE: seen.rings }];
  if (slab.knots.length > 0) {
    parts.unshift({ what: slab.knots.length > 1 ? 'the knots' : 'the knot', deltaE: seen.knot });
  }
  const together = index < coats.length - 1 ? `with what is under it, ${showing(parts)}` : showing(parts);
  return `${byTheStandard(coat)} ${capital(together)}.`;
}

/** What shows and what does not; two that show alike in one clause. */
function showing(parts: readonly { what: string; deltaE: number }[]): string {
  const said = parts.map(({ what, deltaE }) => ({
    what,
    number: `(ΔE ${deltaE.toFixed(1)})`,
    how: showingInWords(deltaE),
  }));
  const alike = said.every(({ how }) => how === said[0].how);
  return alike
    ? `${said.map(({ what, number }) => `${what} ${number}`).join(' and ')} ${said[0].how}`
    : said.map(({ what, number, how }) => `${what} ${how} ${number}`).join(', ');
}

function byTheStandard(coat: Coat): string {
  const ratio = contrastRatio(coat, coat.dryThicknessUm);
  if (ratio >= HIDING_CONTRAST) return `It hides what is under it (contrast ratio ${ratio.toFixed(2)}).`;
  const needed = layersToHide(coat);
  const rest =
    needed === null
      ? 'and more applications of it will not change that'
      : `it would take ${needed} applications like these`;
  return `It does not hide black from white (contrast ratio ${ratio.toFixed(2)}, ${HIDING_CONTRAST} hides); ${rest}.`;
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

interface CoatPartProps {
  of: `stack.coats.${number}`;
  coat: Coat;
  onChange: (part: Partial<Coat>) => void;
}

/** What of a coat matters less. */
function CoatDetails({ of, coat, onChange }: CoatPartProps) {
  const [low, high] = coat.usualLayerUm;
  return (
    <>
      <Field
        of={`${of}.usualLayerUm.0`}
        hint="Dry, on the paint’s data sheet; applications thinner than this may not close."
        onChange={(um) => onChange({ usualLayerUm: [um, Math.max(um, high)] })}
      />
      <Field
        of={`${of}.usualLayerUm.1`}
        hint="Dry, on the paint’s data sheet; applications thicker than this stay soft underneath."
        onChange={(um) => onChange({ usualLayerUm: [Math.min(low, um), um] })}
      />
      <Field of={`${of}.fineVariation`} hint="Spread over millimetres: it shows as mottle." />
      <RemovalControls of={of} />
      <Field of={`${of}.scatteringPerMm`} hint="How strongly it hides what is under it." />
      <Field of={`${of}.gloss60`} hint="Satin is 20 to 35; a matte coat below 10." />
    </>
  );
}

/** Share of the paint that lands on the slab when it is poured out, or sprayed (estimates; the rest goes past). */
const TRANSFER = { sprayed: 0.6, other: 0.95 };

/** A wet layer beyond this sags or wrinkles (common practice, no published source). */
const THICKEST_WET_UM = 150;

const WET_FILM = quantity(1, 1000, { label: 'Wet film, each time', unit: 'µm', step: 5, digits: 0, sliderHigh: 300 });

const PAINT_USED = quantity(0.1, 1000, {
  label: 'Paint used, each time',
  unit: 'mL',
  step: 0.5,
  digits: 1,
  sliderHigh: 40,
});

const faceAreaMm2 = ({ shape, widthMm, heightMm }: Slab): number =>
  (shape === 'oval' ? Math.PI / 4 : 1) * widthMm * heightMm;

/** Dry thickness from what the maker measured: a wet film, or paint used up. */
function ThicknessHelper({ of, coat, onChange }: CoatPartProps) {
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
  const dryUm = Math.min(fieldOf(`${of}.dryThicknessUm`).high, layerUm * layers);
  return (
    <>
      <Field of={`${of}.layers`} hint="Times this paint was put on." />
      <Field of={`${of}.volumeSolids`} hint="On the paint’s data sheet: the share that stays when it has dried." />
      <Field of={`${of}.thinnerShare`} hint="Per volume of paint; it dries away." />
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
        <ValueControl of={WET_FILM} hint="From a wet film comb." value={wetUm} onChange={setWetUm} />
      ) : (
        <ValueControl
          of={PAINT_USED}
          hint={`Thinned as it was used; about ${Math.round(100 * transfer)} % of it lands on the face.`}
          value={millilitres}
          onChange={setMillilitres}
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
          At {coat.dryThicknessUm.toFixed(0)} µm laid {layers === 1 ? 'once it is' : `${layers} times each is`}{' '}
          {wetNow.toFixed(0)} µm wet: that sags. Lay it thinner and more often, and let each film dry.
        </p>
      )}
    </>
  );
}
