import { burnsAt, burnToneScale, type CoarseScene } from '../../burn/tone-scale.ts';
import { lightnessToLuminance, luminanceToLightness } from '../../image/lightness.ts';
import { adjustedLightness, createToneCurve } from '../../image/tone.ts';
import { powerAt } from '../../physics/beam/gaussian.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Pass, Piece, Tone } from '../../piece/schema.ts';
import { drawPiece } from '../sure/spread.ts';
import { type StackRange, stackRange, type ToneError, toneError } from '../sure/tone-error.ts';
import { applyEdits, type Case, type Change, type Finding, inFocus, percent, towards, worstPlace } from './finding.ts';
import { lightnessOf, OUTLOOK_TONES } from './outlook.ts';
import { TONE_BINS, type ToneSums } from './tally.ts';

const rangeOf = ({ piece, proof, now }: Case): StackRange => stackRange(piece, proof.appearance, now.lightness);

/**
 * Tone error of the proof itself: L* wanted (even steps of the picture over what the stack can show) against the mean light that places of
 * that tone have. What is wanted comes from the photograph: a tone curve that brings many tones to one cannot be turned round.
 */
export function proofToneError(of: Case): ToneError {
  const { piece, sums, scene } = of;
  const { darkest, lightest } = rangeOf(of);
  const lightness = proofLightness(sums.tones);
  const curved = createToneCurve({ ...NEUTRAL_TONE, curve: piece.picture.tone.curve });
  return toneError(
    Array.from(wishedTones(piece, scene), (count, bin) => {
      const tone = (bin + 0.5) / TONE_BINS;
      return { count, wanted: darkest + (lightest - darkest) * tone, predicted: lightness(curved(tone)) };
    }),
  );
}

/** Places by the lightness that the maker asks for: the photo's after exposure, contrast, gamma and intent; the curve is there for the stack. */
function wishedTones({ picture }: Piece, scene: CoarseScene): Float64Array {
  const wished = adjustedLightness({ ...picture.tone, curve: [] });
  const counts = new Float64Array(TONE_BINS);
  for (let i = 0; i < scene.lightness.length; i++) {
    if (burnsAt(scene, i)) counts[Math.min(TONE_BINS - 1, Math.floor(TONE_BINS * wished(scene.lightness[i])))]++;
  }
  return counts;
}

/** L* of the mean light of a prepared lightness in the proof, between those bins that have any. */
function proofLightness({ count, luminance }: ToneSums): (prepared: number) => number {
  const bins = [...count.keys()].filter((bin) => count[bin] > 0);
  const values = bins.map((bin) => 100 * luminanceToLightness(luminance[bin] / count[bin]));
  return (prepared) => {
    const at = TONE_BINS * prepared - 0.5;
    const above = bins.findIndex((bin) => bin >= at);
    if (above === 0 || bins.length === 0) return values[0] ?? 0;
    if (above < 0) return values[values.length - 1];
    const share = (at - bins[above - 1]) / (bins[above] - bins[above - 1]);
    return values[above - 1] + share * (values[above] - values[above - 1]);
  };
}

/**
 * Lightness that the picture asks for, by prepared lightness: exposure, contrast, gamma and intent are the maker's wish, the curve is there for the
 * stack, so it is turned round.
 */
function wantedOf(tone: Tone): (prepared: number) => number {
  if (tone.curve.length === 0) return (prepared) => prepared;
  const curve = createToneCurve({ ...NEUTRAL_TONE, curve: tone.curve });
  const steps = Array.from({ length: 257 }, (_, i) => curve(i / 256));
  return (prepared) => {
    // The middle of all tones that the curve brings to this one.
    let low = 0;
    while (low < 256 && steps[low + 1] < prepared) low++;
    let high = low;
    while (high < 256 && steps[high + 1] <= prepared) high++;
    const [a, b] = [steps[low], steps[Math.min(256, low + 1)]];
    const within = b > a ? Math.min(1, Math.max(0, (prepared - a) / (b - a))) : 0;
    return high > low + 1 ? (low + high) / 512 : (low + within) / 256;
  };
}

/** Errors that are worth a word, L*. */
const SEEN_RMS = 7;

const WORTH = 0.6;

const ZONE_WORDS = ['the darkest parts', 'the dark parts', 'the middle tones', 'the light parts', 'the lightest parts'];

/** `mend`: whether to look for a change. */
export async function findToneError(of: Case, error: ToneError, mend: boolean): Promise<Finding | null> {
  if (error.rms < SEEN_RMS) return null;
  const weighed = error.zones.map((zone) => Math.abs(zone.error) * Math.sqrt(zone.share));
  const worst = weighed.indexOf(Math.max(...weighed));
  const zone = error.zones[worst];
  const { blocks } = of.sums;
  const range = rangeOf(of);
  const wanted = wantedOf(of.piece.picture.tone);
  return {
    kind: 'tone-error',
    severity: 50 * towards(error.rms - SEEN_RMS / 2, 12),
    sentence: `The picture’s tones come out ${error.rms.toFixed(0)} L* off on the whole; ${ZONE_WORDS[worst]} become ${Math.abs(zone.error).toFixed(0)} L* too ${zone.error > 0 ? 'light' : 'dark'}.`,
    value: error.rms,
    unit: 'L*',
    place: worstPlace(blocks, (block) => {
      if (blocks.picture[block] === 0) return 0;
      const aim = wanted(blocks.tone[block] / blocks.picture[block]);
      const off =
        blocks.lightness[block] / blocks.picture[block] - range.darkest - (range.lightest - range.darkest) * aim;
      return off * Math.sign(zone.error) > 0 ? Math.abs(off) : 0;
    }),
    causes: ['tones'],
    change: mend ? await fittedChange(of, error) : null,
  };
}

/** Tones fitted to the stack, if they really come out better on this picture. */
async function fittedChange(of: Case, error: ToneError): Promise<Change | null> {
  const { piece, scene } = of;
  if (piece.passes.some((pass) => pass.tone)) return null;
  const fitted = await of.fitted();
  const range = rangeOf(of);
  const wished = adjustedLightness({ ...piece.picture.tone, curve: [] });
  const last = fitted.steps.length - 1;
  const tones = fitted.steps.map((predicted, i) => ({
    count: 0,
    wanted: range.darkest + ((range.lightest - range.darkest) * i) / last,
    predicted,
  }));
  for (let i = 0; i < scene.lightness.length; i += 3) {
    if (burnsAt(scene, i)) tones[Math.round(wished(scene.lightness[i]) * last)].count++;
  }
  const then = toneError(tones).rms;
  if (then > WORTH * error.rms) return null;
  return {
    words: 'Fit the tones to this stack',
    outcome: `Tones then come out about ${then.toFixed(1)} L* off instead of ${error.rms.toFixed(0)}.`,
    edits: [{ of: 'tone', set: { curve: fitted.curve } }],
  };
}

/** L* within which tones at an end of the scale look alike; span of the photo's tones and share of the picture from which that is a loss. */
const ALIKE = 1.5;

const LOST_SPAN = 0.15;

const LOST_SHARE = 0.04;

/** Tones so near black and white of the photo hold no detail to begin with. */
const PLAIN_ENDS = 0.02;

interface FlatEnd {
  /** Photo's tone from which on, up to the end, everything looks alike. */
  readonly from: number;
  readonly share: number;
}

/** Highlight or shadow detail of the photo that one flat end of the tone scale swallows. `mend`: whether to look for a change. */
export async function findLostTones(of: Case, mend: boolean): Promise<Finding[]> {
  const { lightness } = of.now;
  if (Math.max(...lightness) - Math.min(...lightness) < 10) return [];
  const found: Finding[] = [];
  for (const end of ['light', 'dark'] as const) {
    const flat = flatEnd(of, lightness, end);
    if (!isLost(flat, end)) continue;
    const change = mend ? await openedChange(of, end, flat) : null;
    const name = end === 'light' ? 'highlights' : 'shadows';
    found.push({
      kind: end === 'light' ? 'lost-highlights' : 'lost-shadows',
      severity: 55 * towards(flat.share, 0.15),
      sentence: `Detail in the ${name} is lost on ${percent(flat.share)} of the picture: everything ${end === 'light' ? 'lighter' : 'darker'} than ${Math.round(100 * flat.from)} % of the photo’s tones comes out alike.`,
      value: flat.share,
      unit: 'share',
      place: worstPlace(of.sums.blocks, flatAmount(of, end, flat.from)),
      causes: [change?.edits[0].of === 'pass' ? 'focus' : 'tones'],
      change,
    });
  }
  return found;
}

const isLost = ({ from, share }: FlatEnd, end: 'light' | 'dark'): boolean =>
  (end === 'light' ? 1 - from : from) > LOST_SPAN && share > LOST_SHARE;

function flatEnd({ scene }: Case, lightness: readonly number[], end: 'light' | 'dark'): FlatEnd {
  const last = lightness.length - 1;
  const place = (i: number) => (end === 'light' ? last - i : i);
  let i = 0;
  while (i < last && Math.abs(lightness[place(i + 1)] - lightness[place(0)]) < ALIKE) i++;
  const toneAt = (step: number) => step / (OUTLOOK_TONES - 1);
  // Where between two tones of the scale it is no longer alike.
  const away = (step: number) => Math.abs(lightness[place(step)] - lightness[place(0)]);
  const within = i < last ? (ALIKE - away(i)) / Math.max(1e-9, away(i + 1) - away(i)) : 0;
  const next = toneAt(place(Math.min(last, i + 1)));
  const from = toneAt(place(i)) + (next - toneAt(place(i))) * Math.min(1, Math.max(0, within));
  const inside = (tone: number) =>
    end === 'light' ? tone > from && tone < 1 - PLAIN_ENDS : tone < from && tone > PLAIN_ENDS;
  let count = 0;
  let all = 0;
  for (let at = 0; at < scene.lightness.length; at += 3) {
    if (!burnsAt(scene, at)) continue;
    all++;
    if (inside(scene.lightness[at])) count++;
  }
  return { from, share: all > 0 ? count / all : 0 };
}

function flatAmount({ sums, piece }: Case, end: 'light' | 'dark', from: number): (block: number) => number {
  const { blocks } = sums;
  const border = adjustedLightness(piece.picture.tone)(from);
  return (block) => {
    if (blocks.picture[block] === 0) return 0;
    const tone = blocks.tone[block] / blocks.picture[block];
    return (end === 'light' ? tone >= border && tone < 1 : tone <= border && tone > 0) ? 1 : 0;
  };
}

/** Takes exposure and contrast back as far as needed; else fits the tones to the stack. */
async function openedChange(of: Case, end: 'light' | 'dark', now: FlatEnd): Promise<Change | null> {
  const { piece, outlooks } = of;
  const { tone } = piece.picture;
  if (piece.passes.some((pass) => pass.tone)) return null;
  const lostWith = async (set: Partial<Tone>): Promise<FlatEnd> => {
    const other: Piece = applyEdits(piece, [{ of: 'tone', set }]);
    return flatEnd(of, await outlooks.lightness(other), end);
  };
  const opens = (flat: FlatEnd) => !isLost(flat, end) || flat.share < 0.4 * now.share;
  const outcome = ({ from }: FlatEnd) => {
    if (end === 'light' ? from > 0.97 : from < 0.03) return 'All tones then come out apart.';
    return `Only what is ${end === 'light' ? 'lighter' : 'darker'} than ${Math.round(100 * from)} % then comes out alike.`;
  };
  const focused = applyEdits(piece, inFocus(piece));
  if (focused !== piece) {
    const flat = flatEnd(of, await outlooks.lightness(focused), end);
    if (opens(flat)) return { words: 'Set the focus offset to 0 mm', outcome: outcome(flat), edits: inFocus(piece) };
  }
  const pushed = end === 'light' ? tone.exposureEv > 0 : tone.exposureEv < 0;
  if (pushed) {
    for (const share of [0.75, 0.5, 0.25, 0]) {
      const exposureEv = Math.round(10 * share * tone.exposureEv) / 10;
      const flat = await lostWith({ exposureEv });
      if (opens(flat)) {
        return {
          words: `Set the exposure to ${String(exposureEv).replace('-', '−')} EV`,
          outcome: outcome(flat),
          edits: [{ of: 'tone', set: { exposureEv } }],
        };
      }
    }
  }
  if (tone.contrast > 0) {
    const flat = await lostWith({ contrast: 0 });
    if (opens(flat)) {
      return { words: 'Set the contrast to 0', outcome: outcome(flat), edits: [{ of: 'tone', set: { contrast: 0 } }] };
    }
  }
  const { curve } = await of.fitted();
  const flat = await lostWith({ curve });
  if (!opens(flat)) return null;
  return { words: 'Fit the tones to this stack', outcome: outcome(flat), edits: [{ of: 'tone', set: { curve } }] };
}

/** What becomes of each tone of the photograph on a film of mean thickness. All arrays go with `tones`. */
export interface ToneChart {
  /** Lightness of the photo, 0–1, rising. */
  readonly tones: readonly number[];
  /** L* that equal steps of the photo's lightness ask for. */
  readonly wanted: readonly number[];
  /** After each pass. */
  readonly passes: readonly ToneLine[];
  /** L* after the last pass in the middle eight tenths of what paint and beam may truly be. */
  readonly low: readonly number[];
  readonly high: readonly number[];
}

interface ToneLine {
  /** Mean power of this pass, share of full power. */
  readonly power: readonly number[];
  /** Mean residue of the topmost coat after it, µm, and L*. */
  readonly residueUm: readonly number[];
  readonly lightness: readonly number[];
}

const CHART = { tones: 17, films: [1], patchDots: 16 };

/** @param draws pieces drawn for the band; 0 leaves it without width. */
export async function toneChart(of: Case, draws: number): Promise<ToneChart> {
  const { piece, proof, runner, warmthsK } = of;
  const burn = (other: Piece) =>
    burnToneScale(other, proof.appearance, runner, warmthsK.slice(0, other.passes.length), CHART);
  const passes: ToneLine[] = [];
  let tones: readonly number[] = [];
  for (let i = 0; i < piece.passes.length; i++) {
    const scale = await burn({ ...piece, passes: piece.passes.slice(0, i + 1) });
    tones = scale.tones;
    const power = tones.map(meanPower(piece.passes[i], piece));
    passes.push({ power, residueUm: [...scale.meanResidueUm], lightness: lightnessOf(scale, 0) });
  }
  const drawn: number[][] = [];
  for (let draw = 0; draw < draws; draw++) drawn.push(lightnessOf(await burn(drawPiece(piece, draw)), 0));
  const last = passes[passes.length - 1].lightness;
  const edge = (share: number) =>
    tones.map((_, i) => {
      const values = drawn.map((one) => one[i]).sort((a, b) => a - b);
      return values.length > 0 ? values[Math.min(values.length - 1, Math.floor(share * values.length))] : last[i];
    });
  const wished = adjustedLightness({ ...piece.picture.tone, curve: [] });
  const { darkest, lightest } = rangeOf(of);
  const wanted = tones.map((tone) => darkest + (lightest - darkest) * wished(tone));
  return { tones, wanted, passes, low: edge(0.1), high: edge(0.9) };
}

/** Mean set power of a tone: graded by lightness, or dots by their share of the area. */
function meanPower(pass: Pass, piece: Piece): (tone: number) => number {
  const burned = adjustedLightness(pass.tone ?? piece.picture.tone);
  return (tone) => {
    const share = pass.screen === 'continuous' ? burned(tone) : lightnessToLuminance(burned(tone));
    return powerAt(pass, 255 * share);
  };
}
