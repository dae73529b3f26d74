import type { Wood } from './schema.ts';

/**
 * Woods to start from. Densities at 12 % moisture: basswood 381–415 kg/m³ and lime 490–535 kg/m³ from trade tables and the species
 * pages named in DEVELOPERS.md; the others' from memory. Ring widths, contrasts (diffuse-porous woods 1.1–1.3, conifers 2–3), colours and
 * reliefs are values from memory or estimates; sanded reliefs follow the published order of mean roughness after P150–P180 (4–8
 * µm). Loss of lightness when charred: lime, beech and maple of Kubovský, Kačík & Veľková, BioResources 13(2) 2515–2529 (2018); the
 * rest estimated from the same end colour.
 */
interface Species {
  readonly name: string;
  readonly densityKgPerM3: number;
  readonly colorLab: readonly [number, number, number];
  readonly ringWidthMm: number;
  readonly ringContrast: number;
  readonly ringLightness: number;
  readonly sawnReliefUm: number;
  readonly sandedReliefUm: number;
  readonly lightnessLoss: number;
  readonly absorptance: number;
}

const LIST = [
  species('basswood', 'Basswood', 400, [82, 3, 19], [2.4, 1.15, 2], [20, 3], 50.5, 0.59),
  species('lime', 'Lime', 510, [82, 3.5, 20], [2, 1.2, 2.5], [20, 3], 50.5, 0.59),
  species('birch', 'Birch', 640, [79, 5, 20], [1.8, 1.2, 3], [18, 3], 53, 0.6),
  species('poplar', 'Poplar', 450, [84, 2, 16], [3.5, 1.15, 2], [24, 4], 52, 0.57),
  species('maple', 'Maple', 700, [80, 4.5, 18], [1.8, 1.2, 3.5], [16, 2.5], 56, 0.6),
  species('beech', 'Beech', 710, [72, 8, 20], [2, 1.3, 4], [17, 3], 46.8, 0.66),
  species('pine', 'Pine', 510, [79, 7, 27], [2.5, 2.6, 9], [25, 5], 52, 0.62),
] as const;

function species(
  id: string,
  name: string,
  densityKgPerM3: number,
  colorLab: readonly [number, number, number],
  [ringWidthMm, ringContrast, ringLightness]: readonly [number, number, number],
  [sawnReliefUm, sandedReliefUm]: readonly [number, number],
  lightnessLoss: number,
  absorptance: number,
): Species & { readonly id: string } {
  const rings = { ringWidthMm, ringContrast, ringLightness };
  return { id, name, densityKgPerM3, colorLab, ...rings, sawnReliefUm, sandedReliefUm, lightnessLoss, absorptance };
}

/**
 * Energy to burn a mass of wood away, J/mg: 0.9 and 1.5 J per mm² of cut in southern pine (McMillin & Harry, Forest Products J. 21(10)
 * 35–37, 1971) over a kerf of 0.3 mm (value from memory) are 3.0–5.1 J/mm³ at 0.5 mg/mm³.
 */
const ENERGY_J_PER_MG = 8;

export const SPECIES_NAMES = LIST.map(({ id, name }) => ({ id, name }));

/** A species' wood at 450 nm. @throws RangeError for an id that is not in `SPECIES_NAMES`. */
export function woodOf(id: string): Wood {
  const found = LIST.find((one) => one.id === id);
  if (!found) throw new RangeError(`there is no wood called ${id}`);
  const { id: _, colorLab, ...wood } = found;
  return {
    ...wood,
    colorLab: [...colorLab],
    thresholdJPerMm2: 0.05,
    specificEnergyJPerMm3: Math.round(10 * ENERGY_J_PER_MG * wood.densityKgPerM3 * 1e-3) / 10,
    scorchOnsetJPerMm2: 0.03,
  };
}

/** The species that a wood was taken from, by its name; null if it has another. */
export const speciesOf = (wood: Wood): string | null => LIST.find(({ name }) => name === wood.name)?.id ?? null;
