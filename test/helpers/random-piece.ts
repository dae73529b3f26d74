import type { Lab } from '../../src/base/color/lab.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import {
  type Application,
  type Coat,
  DEFAULT_QUOTE,
  FAN_PROFILES,
  LOG_OUTCOMES,
  ORDER_STATES,
  type Pass,
  PIECE_VERSION,
  type Piece,
  QUOTE_LANGUAGES,
  SCREEN_METHODS,
  type Tone,
} from '../../src/piece/schema.ts';
import { packTiles } from '../../src/piece/tiles.ts';

/** A piece drawn at random from all that are valid, ends of the ranges included. */
export function randomPiece(seed: number): Piece {
  const random = createGenerator(seed);
  const number = (low: number, high: number): number => {
    const draw = random.nextUnit();
    if (draw < 0.08) return low;
    if (draw > 0.92) return high;
    return low + (high - low) * random.nextUnit();
  };
  const whole = (low: number, high: number): number => low + Math.floor((high - low + 1) * random.nextUnit());
  const pick = <Value>(values: readonly Value[]): Value => values[whole(0, values.length - 1)];
  const maybe = <Value>(value: Value): Value | null => (whole(0, 1) === 0 ? value : null);
  const list = <Value>(low: number, high: number, make: () => Value): Value[] =>
    Array.from({ length: whole(low, high) }, make);
  const text = () => pick(['', 'Oat', 'déjà "vu"\n', '船', 'a'.repeat(200), '\u0000']);
  const flip = () => random.nextUnit() < 0.5;
  const lab = (): Lab => [number(0, 100), number(-128, 128), number(-128, 128)];
  const removal = () => ({
    absorptance: number(0, 1),
    thresholdJPerMm2: number(0, 10),
    specificEnergyJPerMm3: number(0.1, 1000),
    scorchOnsetJPerMm2: number(0, 100),
  });
  const application = (): Application =>
    pick<Application>([
      { kind: 'even' },
      {
        kind: 'sprayed',
        fan: pick(FAN_PROFILES),
        fanWidthMm: number(5, 1000),
        overlap: number(0, 0.9),
        headingRad: number(0, 2 * Math.PI),
        wobbleMm: number(0, 100),
        speedVariation: number(0, 0.5),
        ends: pick(['outside', 'inside'] as const),
      },
      {
        kind: 'brushed',
        along: pick(['width', 'height'] as const),
        markSpacingMm: number(0.2, 50),
        markShare: number(0, 1),
        viscosityPaS: number(0.01, 1000),
        openTimeS: number(0, 86400),
      },
      { kind: 'poured', beadShare: number(0, 5), beadWidthMm: number(0.1, 100) },
    ]);
  const coat = (): Coat => ({
    name: text(),
    colorLab: lab(),
    scatteringPerMm: number(0.1, 1000),
    dryThicknessUm: number(0, 1000),
    layers: whole(1, 20),
    volumeSolids: number(0.01, 1),
    thinnerShare: number(0, 1),
    application: application(),
    slowVariation: number(0, 0.5),
    fineVariation: number(0, 0.5),
    gloss60: number(0, 100),
    dryHours: number(0, 1000),
    opticalDepthUm: flip() ? 0 : number(0, 100),
    touchedFactor: flip() ? 1 : number(0.3, 5),
    sandedAfter: flip(),
    usualLayerUm: [number(0, 1000), number(0, 1000)],
    wantedLab: flip() ? null : lab(),
    ...removal(),
  });
  const place = () => ({ xMm: number(-3000, 3000), yMm: number(-3000, 3000) });
  const rising = (): [number, number][] => {
    const places = [...new Set(list(0, 32, () => random.nextUnit()))].sort((a, b) => a - b);
    return places.map((x) => [x, number(0, 1)]);
  };
  const tone = (): Tone => ({
    exposureEv: number(-8, 8),
    contrast: number(-1, 1),
    gamma: number(0.1, 10),
    intent: rising(),
    curve: rising(),
    unsharpMask: { radiusMm: number(0, 20), amount: number(0, 5), threshold: number(0, 1) },
  });
  const pass = (): Pass => ({
    lightEndPower: number(0, 1),
    darkEndPower: number(0, 1),
    feedMmPerS: number(0.1, 10000),
    rowPitchMm: number(0.01, 5),
    headingRad: number(0, 2 * Math.PI),
    rows: pick(['one-way', 'two-way'] as const),
    rowOffsetErrorMm: number(-5, 5),
    screen: pick(SCREEN_METHODS),
    serpentine: flip(),
    evenPower: flip(),
    focusOffsetMm: number(-100, 100),
    tone: flip() ? null : tone(),
    only: flip()
      ? null
      : {
          ...packTiles(
            3,
            2,
            Uint8Array.from({ length: 6 }, () => whole(0, 255)),
          ),
          across: number(1, 3),
          down: number(1, 3),
        },
  });
  return {
    format: 'foreburn',
    version: PIECE_VERSION,
    name: text(),
    slab: {
      shape: pick(['oval', 'rectangle', 'outline'] as const),
      outlineMm: list(3, 40, () => [number(-3000, 3000), number(-3000, 3000)]),
      widthMm: number(5, 3000),
      heightMm: number(5, 3000),
      thicknessMm: number(1, 200),
      wood: {
        name: text(),
        colorLab: lab(),
        densityKgPerM3: number(50, 1500),
        ringWidthMm: number(0.2, 30),
        ringContrast: number(1, 4),
        ringLightness: number(0, 40),
        sawnReliefUm: number(0, 500),
        sandedReliefUm: number(0, 500),
        lightnessLoss: number(0, 100),
        ...removal(),
      },
      cut: pick(['slice', 'plank'] as const),
      edge: pick(['bark', 'sawn'] as const),
      finish: pick(['sanded', 'as-sawn'] as const),
      pithXMm: number(-3000, 3000),
      pithYMm: number(-3000, 3000),
      grainSeed: pick([0, 1, 4294967295]),
      knots: list(0, 12, () => ({
        ...place(),
        diameterMm: number(1, 300),
        tiltRad: number(0, 1.4),
        filled: flip(),
      })),
      checks: list(0, 12, () => ({
        ...place(),
        lengthMm: number(1, 1000),
        headingRad: number(0, 2 * Math.PI),
        widthMm: number(0.05, 20),
        depthMm: number(0.01, 50),
        filled: flip(),
      })),
      bowMm: number(-50, 50),
      domeMm: number(-50, 50),
      maskedRimMm: number(0, 200),
      seepMm: number(0, 10),
      photo: flip()
        ? null
        : { file: text(), ...place(), widthMm: number(1, 6000), heightMm: number(1, 6000), shown: flip() },
    },
    stack: {
      coats: list(0, 8, coat),
      cureHours: number(0, 10000),
      film: {
        shown: pick(['mean', 'drawn']),
        seed: pick([0, 1, 4294967295]),
        slowScaleMm: number(1, 500),
        fineScaleMm: number(0.1, 50),
        found: flip()
          ? null
          : {
              ...place(),
              pitchMm: number(0.1, 100),
              tiles: packTiles(
                3,
                2,
                Uint8Array.from({ length: 6 }, () => whole(0, 255)),
              ),
            },
      },
    },
    picture: {
      file: text(),
      widthMm: number(1, 3000),
      crop: pick(['rectangle', 'oval', 'outline'] as const),
      lettering: list(0, 3, () =>
        pick([
          {
            kind: 'border' as const,
            follows: pick(['picture', 'rim'] as const),
            distanceMm: number(-200, 500),
            lineMm: number(0.1, 50),
            tone: number(0, 1),
          },
          {
            kind: 'text' as const,
            text: 'Hollin',
            font: pick(['fraunces', 'great-vibes'] as const),
            letters: list(0, 3, () => ({ advance: 900, outlines: [[0, 0, 800, 0, 400, 1400]] })),
            capEm: number(0.1, 2),
            capMm: number(0.5, 300),
            spacing: number(-0.5, 3),
            tone: number(0, 1),
            place: pick([
              { along: 'rim' as const, rimMm: number(0, 500), aroundRad: number(-3, 3) },
              { along: 'line' as const, xMm: number(-3000, 3000), yMm: number(-3000, 3000), turnRad: number(-3, 3) },
            ]),
          },
        ]),
      ),
      rimMm: number(0, 500),
      matte: pick([
        null,
        {
          tiles: packTiles(
            2,
            3,
            Uint8Array.from({ length: 6 }, () => number(0, 255)),
          ),
          marks: [
            { stays: true, points: [[number(-1, 2), number(-1, 4)] as [number, number]], radius: number(0.0005, 1) },
          ],
        },
      ]),
      cut: pick([
        null,
        {
          xMiddle: number(0, 1),
          yMiddle: number(0, 4),
          width: number(0.005, 1),
          height: number(0.005, 4),
          turnRad: number(-Math.PI / 4, Math.PI / 4),
        },
      ]),
      heals: list(0, 3, () => ({
        points: list(1, 5, (): [number, number] => [number(0, 1), number(0, 4)]),
        radius: number(0.0005, 0.2),
      })),
      offsetXMm: number(-3000, 3000),
      offsetYMm: number(-3000, 3000),
      rotationRad: number(-Math.PI, Math.PI),
      fallOffMm: number(0, 500),
      strokes: list(0, 4, () => ({
        does: pick(['erase', 'restore'] as const),
        points: list(1, 5, (): [number, number] => [number(-1, 2), number(-1, 4)]),
        radius: number(0.0005, 1),
        hardness: number(0, 1),
      })),
      repair: {
        cast: number(0, 1),
        fade: number(0, 1),
        localContrast: number(0, 1),
        noise: number(0, 1),
        scratches: number(0, 1),
      },
      tone: tone(),
    },
    machine: {
      name: text(),
      source: {
        wavelengthNm: number(150, 12000),
        fullPowerW: number(0.01, 1000),
        spotAcrossMm: number(0.001, 5),
        spotAlongMm: number(0.001, 5),
        beamQuality: number(1, 1000),
        firingFloor: number(0, 0.9),
        riseTimeS: number(0, 0.1),
        fallTimeS: number(0, 0.1),
        powerCurve: rising(),
        pulses: flip()
          ? null
          : { rateHz: number(1, 1e9), incubation: number(0.5, 1), depthPerPulseUm: number(0.001, 1000) },
      },
      airFlow: number(0, 1),
      control: {
        powerScale: number(1, 1000000),
        units: pick(['mm', 'inch'] as const),
        decimals: whole(1, 6),
        beam: pick(['holds-power', 'follows-speed'] as const),
        powerLimit: number(0, 1),
        powerAtRest: flip(),
        zero: pick(['bed-corner', 'picture-centre'] as const),
        park: pick(['picture-centre', 'bed-corner', 'stay'] as const),
        startWords: text(),
        endWords: text(),
        correctRowOffset: flip(),
      },
      motion: {
        maxFeedMmPerS: number(0.1, 10000),
        accelerationMmPerS2: number(1, 1000000),
        runUpMm: number(0, 500),
        powerAtRamps: pick(['held', 'follows-feed'] as const),
      },
    },
    passes: list(1, 12, pass),
    placement: {
      bedWidthMm: number(20, 5000),
      bedHeightMm: number(20, 5000),
      xMm: number(-5000, 5000),
      yMm: number(-5000, 5000),
      turnRad: number(-Math.PI, Math.PI),
      clearanceMm: number(0, 200),
      pilotPower: number(0, 0.1),
      referenceMark: flip(),
    },
    heat: { carryOver: flip(), retainedShare: number(0, 1) },
    certainty: {
      source: pick(['preset', 'calibrated'] as const),
      threshold: number(0, 2),
      specificEnergy: number(0, 2),
      thickness: number(0, 2),
      power: number(0, 2),
      covariance: flip()
        ? null
        : {
            names: ['spotAcross', 'coat0.threshold'],
            matrix: [
              [number(0, 1), 0.01],
              [0.01, number(0, 1)],
            ],
          },
    },
    quote: {
      ...DEFAULT_QUOTE,
      workshop: text(),
      client: text(),
      note: text(),
      currency: pick(['EUR', 'JPY', 'USD']),
      language: pick(QUOTE_LANGUAGES),
      machinePerHour: number(0, 1e6),
      margin: number(0, 10),
      tax: number(0, 1),
      validDays: whole(1, 3650),
      options: list(1, 4, () => ({
        name: text(),
        pictureWidthMm: maybe(number(1, 3000)),
        passes: maybe(whole(1, 12)),
        slabCost: number(0, 1e7),
        handworkMinutes: number(0, 100000),
      })),
    },
    order: {
      dueOn: pick([null, '2031-05-02', '2032-02-29']),
      state: pick(ORDER_STATES),
      quantity: whole(1, 500),
    },
    shelfEntry: maybe({ id: `${text()}x`.slice(-200), name: text(), sum: text() }),
    log: list(0, 2, () => ({
      burnedAt: '2031-05-02T09:30:00+02:00',
      passes: list(1, 3, pass),
      files: list(0, 2, () => ({ name: text(), sha256: '0f'.repeat(32) })),
      minutes: number(0, 1e6),
      outcome: pick(LOG_OUTCOMES),
      note: text(),
      photo: flip() ? null : text(),
    })),
  };
}
