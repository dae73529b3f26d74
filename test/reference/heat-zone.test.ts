import { describe, expect, test } from 'vitest';
import { mmPerMinToMmPerS, umToMm } from '../../src/base/units.ts';
import { lineDose } from '../../src/physics/beam/gaussian.ts';
import { spreadLineRise, woodThermal } from '../../src/physics/heat/heat-sources.ts';
import { DEFAULT_HEAT, woodOf } from '../../src/piece/defaults.ts';

/**
 * S. Barcikowski, G. Koch, J. Odermatt, Holz Roh- Werkst. 64 (2006) 94–103, abstract: beside cuts in pine by CO2 and Nd:YAG lasers wood is
 * changed over 14–70 µm, levelling off at 35–40. Here: the depth that reaches 200–280 °C, where wood begins to decompose and where char
 * forms quickly (Lowden & Hull, Fire Science Reviews 2:4, 2013, table 1). Neither measure is theirs, which is a microscope's.
 */
describe('heat reaches as deep as the zone beside a cut, 10–70 µm', () => {
  const pine = woodOf('pine');
  const ground = woodThermal(pine.densityKgPerM3);
  const depthWhere = (celsius: number, temperatureAt: (depthMm: number) => number): number => {
    let um = 1;
    while (temperatureAt(umToMm(um)) > celsius) um++;
    return um;
  };

  test('under what stays behind a row: 32 µm to 280 °C, 42 to 200, by two estimates of how much stays', () => {
    const radius = 0.1;
    // What is not spent on removal is the threshold dose; of it the default share stays. Were it all of it, these depths would be three
    // times as much. Q' = dose on the row / (√(2/π)/w).
    const heat = (DEFAULT_HEAT.retainedShare * pine.thresholdJPerMm2) / lineDose(1, 1, radius);
    const hottest = (depthMm: number): number => {
      let peak = 0;
      for (let t = 1e-5; t < 0.5; t *= 1.05) peak = Math.max(peak, spreadLineRise(ground, heat, radius, 0, depthMm, t));
      return 20 + peak;
    };
    expect(depthWhere(280, hottest)).toBeGreaterThanOrEqual(14);
    expect(depthWhere(200, hottest)).toBeLessThanOrEqual(70);
    // Nearest to the surface there is only char: volatiles are gone at 500 °C.
    expect(depthWhere(500, hottest)).toBeGreaterThanOrEqual(10);
  });

  test('under a surface at 500 °C for as long as the beam stays, at 1000 … 10000 mm/min', () => {
    // T = 20 + 480·erfc(z / √(4κτ)) (Carslaw & Jaeger 1959, §2.4, value from memory); no estimate but the surface's temperature.
    const erfc = (x: number): number => {
      let sum = 0;
      for (let u = x + 5e-4; u < 6; u += 1e-3) sum += Math.exp(-u * u) * 1e-3;
      return (2 / Math.sqrt(Math.PI)) * sum;
    };
    for (const mmPerMin of [1000, 3000, 10000]) {
      const spread = Math.sqrt(4 * ground.diffusivityMm2PerS * (0.2 / mmPerMinToMmPerS(mmPerMin)));
      const at = (depthMm: number): number => 20 + 480 * erfc(depthMm / spread);
      expect(depthWhere(280, at)).toBeGreaterThanOrEqual(10);
      expect(depthWhere(200, at)).toBeLessThanOrEqual(70);
    }
  });
});
