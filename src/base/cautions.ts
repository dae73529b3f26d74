/** What can hurt someone. The one text of it: page, papers, command line and what goes with every job print it from here. */
export const CAUTIONS: readonly string[] = [
  'Keep the enclosure shut, or wear eyewear made for the wavelength: for the pilot beam too.',
  'Never leave a burn alone: watch until it is out and cold, with an extinguisher at hand.',
  'Extract the fumes outdoors.',
  'Know the paint: no PVC or other chlorinated paint, no lead. Test old paint, and let every coat cure.',
  'Wear a dust mask when you sand. When you spray, ventilate and wear the respirator that the data sheet names.',
];

/** What the cautions give way to, and what nobody may take the program for. */
export const CAUTION_CLOSE =
  'Makers’ manuals, data sheets, local rules and trained advice come first. Foreburn predicts how a slab will look; it does not certify that burning it is safe.';

/** The same in two lines, each short enough for a program's comment: where a beam is one press away and the room is small. */
export const BRIEF_CAUTIONS: readonly string[] = [
  'Enclosure shut, or eyewear for the wavelength and pilot beam. Fumes outdoors.',
  'Never leave a burn alone until cold. Extinguisher at hand. Manuals come first.',
];
