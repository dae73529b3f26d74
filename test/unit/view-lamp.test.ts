import { describe, expect, it } from 'vitest';
import { describeLamp, LAMP_HIGHEST_RAD, LAMP_LOWEST_RAD, lampDirection, settleLamp } from '../../src/render/lamp.ts';
import { lampToStage, stageToLamp } from '../../src/render/slab/sight-bus.ts';

const DEG = Math.PI / 180;
const stage = { left: 320, right: 1400, top: 20, bottom: 720 };

describe('the lamp', () => {
  it('shines from where it says', () => {
    const [x, y, z] = lampDirection({ azimuthRad: 270 * DEG, elevationRad: 30 * DEG });
    expect(x).toBeCloseTo(-Math.cos(30 * DEG), 12);
    expect(y).toBeCloseTo(0.5, 12);
    expect(z).toBeCloseTo(0, 12);
    expect(lampDirection({ azimuthRad: 0, elevationRad: 0 })[2]).toBeCloseTo(-1, 12);
  });

  it('stays between 5° and 85° and within one turn', () => {
    expect(settleLamp({ azimuthRad: -Math.PI / 2, elevationRad: 0 })).toEqual({
      azimuthRad: 1.5 * Math.PI,
      elevationRad: LAMP_LOWEST_RAD,
    });
    expect(settleLamp({ azimuthRad: 0, elevationRad: 3 }).elevationRad).toBe(LAMP_HIGHEST_RAD);
    const lost = settleLamp({ azimuthRad: Number.NaN, elevationRad: Number.NaN });
    expect(Number.isFinite(lost.azimuthRad) && Number.isFinite(lost.elevationRad)).toBe(true);
  });

  it('says in words where it is', () => {
    expect(describeLamp({ azimuthRad: 315 * DEG, elevationRad: 20 * DEG })).toBe(
      'Lamp from the north-west, 20° above the slab',
    );
    expect(describeLamp({ azimuthRad: 359 * DEG, elevationRad: 5 * DEG })).toBe(
      'Lamp from the north, 5° above the slab',
    );
  });
});

describe('the lamp on the stage', () => {
  it('comes back from the stage as it went there, for every camera', () => {
    for (const azimuth of [0, 33, 90, 181, 271, 350]) {
      for (const elevation of [5, 10, 45, 84]) {
        for (const sight of [
          { azimuthRad: 0, polarRad: 0.44 },
          { azimuthRad: 2.2, polarRad: 1.4 },
          { azimuthRad: -7, polarRad: 0 },
        ]) {
          const lamp = { azimuthRad: azimuth * DEG, elevationRad: elevation * DEG };
          const back = stageToLamp(lampToStage(lamp, stage, sight), stage, sight);
          expect(Math.cos(back.azimuthRad - lamp.azimuthRad)).toBeCloseTo(1, 9);
          expect(back.elevationRad).toBeCloseTo(lamp.elevationRad, 9);
        }
      }
    }
  });

  it('never leaves the stage', () => {
    for (let azimuth = 0; azimuth < 360; azimuth += 7) {
      const lamp = { azimuthRad: azimuth * DEG, elevationRad: LAMP_LOWEST_RAD };
      const point = lampToStage(lamp, stage, { azimuthRad: 0.3, polarRad: 0.5 });
      expect(point.x).toBeGreaterThanOrEqual(stage.left - 1e-9);
      expect(point.x).toBeLessThanOrEqual(stage.right + 1e-9);
      expect(point.y).toBeGreaterThanOrEqual(stage.top - 1e-9);
      expect(point.y).toBeLessThanOrEqual(stage.bottom + 1e-9);
    }
  });

  it('stands to the north-west on the screen when it is there, seen from the south', () => {
    const lamp = { azimuthRad: 315 * DEG, elevationRad: 20 * DEG };
    const point = lampToStage(lamp, stage, { azimuthRad: 0, polarRad: 0.4 });
    expect(point.x).toBeLessThan((stage.left + stage.right) / 2);
    expect(point.y).toBeLessThan((stage.top + stage.bottom) / 2);
  });

  it('takes a pointer outside the stage as the lowest lamp, and one at the centre as the highest', () => {
    const sight = { azimuthRad: 0, polarRad: 0.4 };
    expect(stageToLamp({ x: -5000, y: 370 }, stage, sight).elevationRad).toBeCloseTo(LAMP_LOWEST_RAD, 9);
    expect(stageToLamp({ x: 860, y: 370 }, stage, sight).elevationRad).toBe(LAMP_HIGHEST_RAD);
  });
});
