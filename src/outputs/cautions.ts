/** What can hurt someone, in the words shown on the page and on paper. */
export const CAUTIONS: readonly string[] = [
  'A class 4 beam: keep the enclosure shut, or wear eyewear made for the wavelength.',
  'Never leave a burn alone; keep an extinguisher at hand.',
  'Extract the fumes outdoors.',
  'Know what is in the paint: no PVC or chlorinated polymers, no lead. Test old paint.',
  'Let every coat cure fully.',
];

/** The same in two lines that fit into a program's comments. */
export const PROGRAM_CAUTIONS: readonly string[] = [
  'Enclosure shut, or eyewear made for the wavelength: for the pilot beam too.',
  'Never leave a burn alone. Extinguisher at hand, fumes outdoors, known paint.',
];

export const CAUTION_CLOSE =
  'Follow the makers’ manuals, safety data sheets, local rules and trained advice. Foreburn predicts how a slab will look; it does not certify that burning it is safe.';
