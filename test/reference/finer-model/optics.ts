/**
 * Colours of a burned stack by two fluxes of light (P. Kubelka, J. Opt. Soc. Am. 38, 448, 1948, eqs. for a film over a ground; value from
 * memory) at 31 wavelengths, with Saunderson's correction at the air. Shares nothing with the engine's colours: absorption and scattering are
 * spectra of the world's own, not found from an L*a*b* colour. Observer: the sums of Gaussians of C. Wyman, P.-P. Sloan and P. Shirley, J. Computer
 * Graphics Techniques 2(2), 2013, eq. 4; light: CIE D65, 10 nm (both values from memory).
 */
export interface PaintSpectrum {
  /** Absorption at 550 nm and how it grows towards the blue: K ∝ λ^−power, 1/mm. */
  readonly absorptionPerMm: number;
  readonly absorptionPower: number;
  /** Scattering likewise, 1/mm. */
  readonly scatteringPerMm: number;
  readonly scatteringPower: number;
}

export interface Optics {
  /** Adds XYZ (Y of white 1) of what is left of the top coat over the undercoat as far as it is scorched. */
  add(leftUm: number, excess: number, weight: number, out: Float64Array): void;
}

const FROM_NM = 400;
const COUNT = 31;
const NM = Array.from({ length: COUNT }, (_, i) => FROM_NM + 10 * i);
const D65 = [
  82.75, 91.49, 93.43, 86.68, 104.86, 117.01, 117.81, 114.86, 115.92, 108.81, 109.35, 107.8, 104.79, 107.69, 104.41,
  104.05, 100, 96.33, 95.79, 88.69, 90.01, 89.6, 87.7, 83.29, 83.7, 80.03, 80.21, 82.28, 78.28, 69.72, 71.61,
];
const lobe = (nm: number, middle: number, below: number, above: number): number =>
  Math.exp(-0.5 * ((nm - middle) * (nm < middle ? below : above)) ** 2);
const OBSERVER = [
  (nm: number) =>
    1.056 * lobe(nm, 599.8, 0.0264, 0.0323) +
    0.362 * lobe(nm, 442, 0.0624, 0.0374) -
    0.065 * lobe(nm, 501.1, 0.049, 0.0382),
  (nm: number) => 0.821 * lobe(nm, 568.8, 0.0213, 0.0247) + 0.286 * lobe(nm, 530.9, 0.0613, 0.0322),
  (nm: number) => 1.217 * lobe(nm, 437, 0.0845, 0.0278) + 0.681 * lobe(nm, 459, 0.0385, 0.0725),
];
const WHOLE = NM.reduce((sum, nm, i) => sum + D65[i] * OBSERVER[1](nm), 0);
const WEIGHTS = OBSERVER.map((of) => NM.map((nm, i) => (D65[i] * of(nm)) / WHOLE));
/** XYZ of a perfect diffuser by these very sums. */
export const WHITE = WEIGHTS.map((weights) => weights.reduce((sum, value) => sum + value, 0));

const film = (absorption: number, scattering: number, mm: number, ground: number): number => {
  if (mm <= 0) return ground;
  const a = 1 + absorption / scattering;
  const b = Math.sqrt(a * a - 1);
  const coth = 1 / Math.tanh(Math.min(300, b * scattering * mm));
  return (1 - ground * (a - b * coth)) / (a - ground + b * coth);
};
const atAir = (inside: number, k2: number): number => 0.04 + (0.96 * (1 - k2) * inside) / (1 - k2 * inside);

export interface StackSpectrum {
  readonly top: PaintSpectrum;
  readonly under: PaintSpectrum;
  readonly underUm: number;
  /** Share of the light inside that is turned back at the surface. */
  readonly inner: number;
  /** Dose past the top coat at which the undercoat is well scorched, J/mm² as the machine names it. */
  readonly scorchDose: number;
}

const LEFT_STEPS = 160;
const MOST_UM = 60;
const SCORCH_STEPS = 12;

export function createOptics({ top, under, underUm, inner, scorchDose }: StackSpectrum): Optics {
  const table = new Float64Array(3 * LEFT_STEPS * SCORCH_STEPS);
  for (let j = 0; j < SCORCH_STEPS; j++) {
    const level = j / (SCORCH_STEPS - 1);
    for (let i = 0; i < LEFT_STEPS; i++) {
      const mm = (MOST_UM / 1000) * (i / (LEFT_STEPS - 1)) ** 2;
      for (let band = 0; band < COUNT; band++) {
        const ratio = NM[band] / 550;
        const wood = 0.2 + 0.35 * ((NM[band] - FROM_NM) / 300);
        const scorched = 60 * level * ratio ** -3;
        const [k0, s0] = [
          under.absorptionPerMm * ratio ** -under.absorptionPower,
          under.scatteringPerMm * ratio ** -under.scatteringPower,
        ];
        const ground = film(k0 + scorched, s0, underUm / 1000, wood);
        const [k, s] = [
          top.absorptionPerMm * ratio ** -top.absorptionPower,
          top.scatteringPerMm * ratio ** -top.scatteringPower,
        ];
        const seen = atAir(film(k, s, mm, ground), inner);
        for (let c = 0; c < 3; c++) table[3 * (j * LEFT_STEPS + i) + c] += WEIGHTS[c][band] * seen;
      }
    }
  }
  return {
    add(leftUm, excess, weight, out) {
      const place = Math.sqrt(Math.min(1, Math.max(0, leftUm) / MOST_UM)) * (LEFT_STEPS - 1);
      const level = (1 - Math.exp(-((excess / scorchDose) ** 2))) * (SCORCH_STEPS - 1);
      const i = Math.min(LEFT_STEPS - 2, Math.floor(place));
      const j = Math.min(SCORCH_STEPS - 2, Math.floor(level));
      const [u, v] = [place - i, level - j];
      for (let c = 0; c < 3; c++) {
        const at = 3 * (j * LEFT_STEPS + i) + c;
        const near = table[at] + u * (table[at + 3] - table[at]);
        const next = at + 3 * LEFT_STEPS;
        const far = table[next] + u * (table[next + 3] - table[next]);
        out[c] += weight * (near + v * (far - near));
      }
    },
  };
}

/** CIE 1976 L*a*b* of such a sum. */
export function labOfSum(xyz: ArrayLike<number>): [number, number, number] {
  const root = (share: number) => (share > 216 / 24389 ? Math.cbrt(share) : (24389 / 27 / 116) * share + 16 / 116);
  const [x, y, z] = WHITE.map((white, i) => root(xyz[i] / white));
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}
