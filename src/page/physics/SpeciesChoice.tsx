import type { Wood } from '../../piece/schema.ts';
import { SPECIES_NAMES, speciesOf, woodOf } from '../../piece/species.ts';
import { ChoiceControl } from '../fields/ChoiceControl.tsx';
import { changeWood, woodAt } from '../store/piece-edits.ts';
import { usePieceStore } from '../store/piece-store.ts';

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
