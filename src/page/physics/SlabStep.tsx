import { Button } from 'react-aria-components';
import { quantity } from '../../base/quantity.ts';
import { degToRad, radToDeg } from '../../base/units.ts';
import { SPECIES_NAMES, speciesOf, woodOf } from '../../piece/defaults.ts';
import type { Check, Knot, Slab, Wood } from '../../piece/schema.ts';
import { lazyPart } from '../faults/lazy-part.tsx';
import { ColorControl } from '../fields/ColorControl.tsx';
import { Field, RemovalControls } from '../fields/Field.tsx';
import { ItemList } from '../fields/ItemList.tsx';
import { More } from '../fields/SheetDialog.tsx';
import {
  ChoiceControl,
  NameControl,
  PairSwitch,
  SwitchControl,
  useLengthText,
  ValueControl,
} from '../fields/ValueControl.tsx';
import { changeSlab, changeWood, setSession, usePieceStore, useSessionStore, woodAt } from '../store/piece-store.ts';
import { setSlabPhoto, useSlabPhotoStore } from '../vision/slab/slab-photo-store.ts';

export function SlabStep() {
  const slab = usePieceStore((state) => state.piece.slab);
  const units = useSessionStore((state) => state.units);
  return (
    <>
      <SlabPhotoButton />
      {slab.photo && slab.shape === 'outline' && (
        <PairSwitch
          label="Bare wood"
          value={slab.photo.shown ? 'photographed' : 'grown'}
          options={[
            { id: 'photographed', label: 'Photographed' },
            { id: 'grown', label: 'Grown' },
          ]}
          onChange={(id) => slab.photo && changeSlab({ photo: { ...slab.photo, shown: id === 'photographed' } })}
          hint="Shown as you photographed it, or as the model grows it. The burn is computed the same."
        />
      )}
      <SpeciesChoice />
      <PairSwitch
        label="Cut"
        value={slab.cut}
        options={[
          { id: 'slice', label: 'Slice' },
          { id: 'plank', label: 'Plank' },
        ]}
        onChange={(cut) => changeSlab({ cut })}
        hint={
          slab.cut === 'slice'
            ? 'Across the trunk: rings run round the pith.'
            : 'Along the trunk: grain runs along the width.'
        }
      />
      <PairSwitch
        label="Face"
        value={slab.finish}
        options={[
          { id: 'sanded', label: 'Sanded' },
          { id: 'as-sawn', label: 'As sawn' },
        ]}
        onChange={(finish) => changeSlab({ finish })}
        hint="Saw marks make the coats uneven, and the burn blotchy; sanding takes most of them away."
      />
      <PairSwitch
        label="Outline"
        value={slab.shape}
        options={[
          { id: 'oval', label: 'Oval' },
          { id: 'rectangle', label: 'Rectangle' },
          ...(slab.outlineMm.length > 0 ? [{ id: 'outline' as const, label: 'Drawn' }] : []),
        ]}
        onChange={(shape) => changeSlab({ shape })}
        hint="Nothing is burned beside the slab."
      />
      <Field of="slab.widthMm" hint="From rim to rim, along the picture’s width." />
      <Field of="slab.heightMm" hint="From rim to rim, along the picture’s height." />
      <div className="folds">
        <More label="Knots" note={count(slab.knots.length)}>
          <KnotList />
        </More>
        <More label="Drying checks" note={count(slab.checks.length)}>
          <CheckList />
        </More>
        <More label="Grain and rings">
          <GrainControls slab={slab} />
        </More>
        <More label="Edge, thickness, taped rim">
          <EdgeControls slab={slab} />
        </More>
        <More label="Warp">
          <WarpControls />
        </More>
        <More label="More about the wood">
          <WoodControls wood={slab.wood} />
        </More>
      </div>
      <PairSwitch
        label="Lengths in"
        value={units}
        options={[
          { id: 'mm', label: 'mm' },
          { id: 'inch', label: 'inches' },
        ]}
        onChange={(next) => setSession({ units: next })}
      />
    </>
  );
}

const count = (items: number): string => (items === 0 ? 'none' : String(items));

const DIAMETER_MM = 24;

const LARGEST_SHARE = 0.25;

/** A knot that shows at once: left of the middle, beside those that are there, filled. */
export function newKnot(slab: Slab): Knot {
  const diameterMm = Math.max(1, Math.min(DIAMETER_MM, LARGEST_SHARE * Math.min(slab.widthMm, slab.heightMm)));
  return { ...freePlace(slab, 'left', slab.knots, 1.5 * diameterMm), diameterMm, tiltRad: 0.4, filled: true };
}

/** Loaded once it is wanted: most visits do without. */
const SlabPhotoDialog = lazyPart(() =>
  import('../vision/slab/SlabPhotoDialog.tsx').then((module) => module.SlabPhotoDialog),
);

export function SlabPhotoButton() {
  const open = useSlabPhotoStore((state) => state.open);
  return (
    <>
      <Button className="wide" onPress={() => setSlabPhoto({ open: true })}>
        From a photograph of the slab…
      </Button>
      {open && <SlabPhotoDialog />}
    </>
  );
}

const OWN = 'own';

const SPECIES = SPECIES_NAMES.map(({ id, name }) => ({ id, label: name, note: character(woodOf(id)) }));

const CHOICES = [...SPECIES, { id: OWN, label: 'Own values', note: 'Any other wood, by the numbers below.' }];

/** Which wood the slab is of. */
export function SpeciesChoice() {
  const wood = usePieceStore((state) => state.piece.slab.wood);
  const wavelengthNm = usePieceStore((state) => state.piece.machine.source.wavelengthNm);
  return (
    <ChoiceControl
      label="Species"
      value={speciesOf(wood) ?? OWN}
      choices={CHOICES}
      onChange={(id) => {
        if (id !== OWN) changeWood(woodAt(id, wavelengthNm));
        else if (speciesOf(wood)) changeWood({ name: `${wood.name}, own values` });
      }}
    />
  );
}

function character({ densityKgPerM3, ringContrast }: Wood): string {
  const rings = ringContrast >= 2 ? 'strong rings' : ringContrast > 1.25 ? 'fine rings' : 'even';
  const depth = densityKgPerM3 < 460 ? 'goes deep' : densityKgPerM3 > 600 ? 'stays shallow' : 'goes middling deep';
  return `${densityKgPerM3} kg/m³, ${rings}: a burn ${ringContrast >= 2 ? 'comes out striped' : depth}.`;
}

/** How far the face is from flat. */
function WarpControls() {
  return (
    <>
      <Field
        of="slab.bowMm"
        hint="Middle over the two ends, negative if it lies lower; out of focus the beam is wider and weaker."
      />
      <Field of="slab.domeMm" hint="Middle over the whole rim, negative for a dish: the rim burns unlike the middle." />
    </>
  );
}

/** Thickness, rim and what was taped off. */
function EdgeControls({ slab }: { slab: Slab }) {
  return (
    <>
      <PairSwitch
        label="Edge"
        value={slab.edge}
        options={[
          { id: 'bark', label: 'Bark' },
          { id: 'sawn', label: 'Sawn' },
        ]}
        onChange={(edge) => changeSlab({ edge })}
        hint="Bark frames the slab dark and rough; a sawn edge is bare wood."
      />
      <Field of="slab.thicknessMm" hint="Shown in the view; the burn only scratches the surface." />
      <Field
        of="slab.maskedRimMm"
        hint="Masked while painting: it stays bare wood, which darkens where it is burned."
      />
      <Field of="slab.seepMm" hint="How far paint creeps under it: frays the line between coats and bare wood." />
    </>
  );
}

/** The wood's colour and how it answers the beam. */
function WoodControls({ wood }: { wood: Wood }) {
  const wavelengthNm = usePieceStore((state) => state.piece.machine.source.wavelengthNm);
  const species = speciesOf(wood);
  return (
    <>
      <NameControl label="Name" value={wood.name} onChange={(name) => changeWood({ name })} />
      <ColorControl
        label="Colour"
        hint="Seen at the rim, and where a burn goes through every coat."
        lab={wood.colorLab}
        onChange={(colorLab) => changeWood({ colorLab })}
      />
      <Field of="slab.wood.densityKgPerM3" hint="As dry as it is burned: dense wood warms less from row to row." />
      <Field
        of="slab.wood.lightnessLoss"
        hint="Lightness that charring takes off in the end: how black a burn on bare wood gets."
      />
      <RemovalControls of="slab.wood" />
      {species && !isUsual(wood, woodOf(species)) && (
        <Button className="wide" onPress={() => changeWood(woodAt(species, wavelengthNm))}>
          Back to what is usual for {wood.name.toLowerCase()}
        </Button>
      )}
    </>
  );
}

/** Whether the numbers are the species' own; absorptance apart, which is the source's matter too. */
const isUsual = (wood: Wood, usual: Wood): boolean =>
  JSON.stringify(sorted({ ...wood, absorptance: 0 })) === JSON.stringify(sorted({ ...usual, absorptance: 0 }));

const sorted = (wood: Wood) => Object.entries(wood).sort(([a], [b]) => a.localeCompare(b));

const MOST_KNOTS = 12;

function KnotList() {
  const slab = usePieceStore((state) => state.piece.slab);
  const length = useLengthText();
  return (
    <ItemList<Knot>
      items={slab.knots}
      most={MOST_KNOTS}
      noun="knot"
      none="Clear wood. A knot is darker and denser: it shows through thin coats and chars sooner."
      summary={({ diameterMm, filled }) => `${length(diameterMm)}, ${filled ? 'filled' : 'open check'}`}
      create={() => newKnot(slab)}
      onChange={(knots) => changeSlab({ knots })}
    >
      {(knot, index, edit) => (
        <>
          <Field
            of={`slab.knots.${index}.diameterMm`}
            hint="Across the branch; its wood is darker and chars at a smaller dose."
          />
          <PlaceControls what="Middle of the knot" x={`slab.knots.${index}.xMm`} y={`slab.knots.${index}.yMm`} />
          <Field of={`slab.knots.${index}.tiltRad`} hint="0 looks straight at its end grain; more draws it out long." />
          <SwitchControl
            label="Crack filled"
            hint="Open, its drying check swallows paint and stays dark in the burn."
            value={knot.filled}
            onChange={(filled) => edit({ filled })}
          />
        </>
      )}
    </ItemList>
  );
}

const MOST_GRAINS = 4294967295;

/** Where the rings run and how much they tell. */
function GrainControls({ slab }: { slab: Slab }) {
  const { grainSeed } = slab;
  return (
    <>
      <Button className="wide" onPress={() => changeSlab({ grainSeed: grainSeed >= MOST_GRAINS ? 0 : grainSeed + 1 })}>
        Another likely grain
      </Button>
      <p className="hint">
        Grain no. {grainSeed}. No two slabs grow alike: try some, and see whether their rings blotch the picture.
      </p>
      {slab.cut === 'slice' && (
        <PlaceControls what="The pith, which the rings run round," x="slab.pithXMm" y="slab.pithYMm" />
      )}
      <Field of="slab.wood.ringWidthMm" hint="A year’s growth; wide rings make broad bands in a burn." />
      <Field
        of="slab.wood.ringContrast"
        hint="Density of latewood over earlywood: the denser takes more power and burns less deep."
      />
      <Field of="slab.wood.ringLightness" hint="How much darker latewood is: it shows through thin coats." />
      <Field
        of="slab.wood.sandedReliefUm"
        hint="Height of the grain after sanding; paint fills its valleys and lies thin on its ridges."
      />
      <Field of="slab.wood.sawnReliefUm" hint="With the marks of the saw; where they stay, the coats are as uneven." />
    </>
  );
}

const MOST_CHECKS = 12;

/** A crack has no front, and on screen it turns the other way round than in the piece. */
const SHOWN_HEADING = quantity(0, degToRad(179), { label: 'Heading', unit: '°', step: 1, digits: 0 });

/** Cracks from drying. */
function CheckList() {
  const slab = usePieceStore((state) => state.piece.slab);
  const length = useLengthText();
  return (
    <ItemList<Check>
      items={slab.checks}
      most={MOST_CHECKS}
      noun="check"
      none="No drying checks. An open one breaks the picture with a dark line."
      summary={({ lengthMm, filled }) => `${length(lengthMm)}, ${filled ? 'filled' : 'open'}`}
      create={() => newCheck(slab)}
      onChange={(checks) => changeSlab({ checks })}
    >
      {(check, index, edit) => (
        <>
          <Field of={`slab.checks.${index}.lengthMm`} hint="From end to end; it narrows towards both." />
          <PlaceControls what="Middle of the check" x={`slab.checks.${index}.xMm`} y={`slab.checks.${index}.yMm`} />
          <ValueControl
            of={SHOWN_HEADING}
            hint="0 runs left to right; turns counter-clockwise."
            value={degToRad(shownHeading(check.headingRad))}
            onChange={(shownRad) => edit({ headingRad: headingFrom(radToDeg(shownRad)) })}
          />
          <Field of={`slab.checks.${index}.widthMm`} hint="Where it is widest; paint bridges only the finest." />
          <Field of={`slab.checks.${index}.depthMm`} hint="A deep one shows dark wood that no coat reaches." />
          <SwitchControl
            label="Filled"
            hint="Filled and rubbed flush it hardly shows; the filler sinks in a little as it dries."
            value={check.filled}
            onChange={(filled) => edit({ filled })}
          />
        </>
      )}
    </ItemList>
  );
}

/** Heading of a crack on screen, whole degrees counter-clockwise; half a turn tells all. The piece turns clockwise (y downwards). */
export const shownHeading = (headingRad: number): number => (180 - (Math.round(radToDeg(headingRad)) % 180)) % 180;

export const headingFrom = (shownDeg: number): number => degToRad((180 - (shownDeg % 180)) % 180);

const LENGTH_MM = 40;

/** A crack as they come: from the pith outwards in a slice, along the grain in a plank; right of the middle, open. */
export function newCheck(slab: Slab): Check {
  const lengthMm = Math.max(1, Math.min(LENGTH_MM, LARGEST_SHARE * Math.min(slab.widthMm, slab.heightMm)));
  const place = freePlace(slab, 'right', slab.checks, lengthMm / 2);
  const outwards = Math.atan2(place.yMm - slab.pithYMm, place.xMm - slab.pithXMm);
  // A crack has no front: half a turn tells all headings.
  const headingRad = slab.cut === 'plank' ? 0 : (outwards + Math.PI) % Math.PI;
  return { ...place, lengthMm, headingRad, widthMm: 0.8, depthMm: 3, filled: false };
}

interface SlabPlace {
  readonly xMm: number;
  readonly yMm: number;
}

const ROWS = [0, -0.2, 0.2, -0.1, 0.1, -0.3, 0.3];

/** A place on the slab, on one side of its middle if there is room, that is this far from all that is there already. */
function freePlace(slab: Slab, side: 'left' | 'right', taken: readonly SlabPlace[], apartMm: number): SlabPlace {
  const sign = side === 'left' ? -1 : 1;
  const places = [0.2, 0.06, -0.06, -0.2].flatMap((column) =>
    ROWS.map((row) => ({ xMm: Math.round(sign * column * slab.widthMm), yMm: Math.round(row * slab.heightMm) })),
  );
  const nearest = (place: SlabPlace) =>
    Math.min(...taken.map(({ xMm, yMm }) => Math.hypot(xMm - place.xMm, yMm - place.yMm)));
  const free = places.find((place) => nearest(place) >= apartMm);
  return free ?? places.reduce((best, place) => (nearest(place) > nearest(best) ? place : best));
}

type SpotPath = `slab.${'knots' | 'checks'}.${number}`;

interface PlaceControlsProps {
  /** What is placed: “Middle of the knot”. */
  what: string;
  x: `${SpotPath}.xMm` | 'slab.pithXMm';
  y: `${SpotPath}.yMm` | 'slab.pithYMm';
}

/** A place on the slab, from its centre; the sliders reach to the rim. */
function PlaceControls({ what, x, y }: PlaceControlsProps) {
  const widthMm = usePieceStore((state) => state.piece.slab.widthMm);
  const heightMm = usePieceStore((state) => state.piece.slab.heightMm);
  return (
    <>
      <Field
        of={x}
        hint={`${what} from the middle of the slab; negative lies left.`}
        sliderLow={-widthMm / 2}
        sliderHigh={widthMm / 2}
      />
      <Field
        of={y}
        hint={`${what} from the middle of the slab; negative lies further away.`}
        sliderLow={-heightMm / 2}
        sliderHigh={heightMm / 2}
      />
    </>
  );
}
