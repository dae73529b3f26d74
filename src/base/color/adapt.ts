import { ColorSpace, Lab_D65, Lab as LabD50, to } from 'colorjs.io/fn';
import type { Lab } from './lab.ts';

ColorSpace.register(Lab_D65);
ColorSpace.register(LabD50);

/**
 * L*a*b* under D50 as under D65 and back: Bradford's linear adaptation, by colorjs.io. Exact for greys; a measured spectrum under the
 * other light differs from it by metamerism: a published brown paint by 0.51 and a white one by 0.34 ΔE00. Checked in
 * test/reference/adapt.test.ts.
 */
export const labFromD50 = (lab: Lab): Lab => convert(LabD50, Lab_D65, lab);
export const labToD50 = (lab: Lab): Lab => convert(Lab_D65, LabD50, lab);

function convert(from: typeof LabD50, into: typeof LabD50, lab: Lab): Lab {
  const [l, a, b] = to({ space: from, coords: [lab[0], lab[1], lab[2]], alpha: 1 }, into).coords;
  return [l ?? 0, a ?? 0, b ?? 0];
}
