import { describe, expect, test } from 'vitest';
import { linearRgbToLab } from '../../src/base/color/lab.ts';
import { srgbDecodingTable } from '../../src/base/color/srgb.ts';
import { patternBit } from '../../src/burn/dot-model.ts';
import { type PlacedDots, shownRange } from '../../src/burn/dot-work.ts';
import { fineDots, fineDotsNow, type SearchSoFar, searchBand } from '../../src/burn/fine-dots.ts';
import { placeDots } from '../../src/burn/place-dots.ts';
import { createPreparation } from '../../src/burn/prepare.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { seenError } from '../../src/burn/seen-error.ts';
import { burnToneScale } from '../../src/burn/tone-scale.ts';
import { lightnessToLuminance, luminanceToLightness } from '../../src/image/lightness.ts';
import type { Picture } from '../../src/image/picture.ts';
import { screenTone } from '../../src/image/screens/screen-tone.ts';
import { buildAppearance } from '../../src/physics/material/appearance.ts';
import { createPassRaster } from '../../src/physics/raster/pass-raster.ts';
import type { Pass, Piece } from '../../src/piece/schema.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

const appearances = new Map<string, ReturnType<typeof buildAppearance>>();
function appearanceOf({ stack, slab, machine }: Piece) {
  const key = JSON.stringify([stack.coats, slab.wood]);
  const table = appearances.get(key) ?? buildAppearance(stack, slab.wood, machine.airFlow);
  appearances.set(key, table);
  return table;
}

const lightnessPicture = (width: number, height: number, at: (x: number, y: number) => number): Picture =>
  pictureOf(width, height, (x, y) => lightnessToLuminance(at(x, y)));

/** A late source whose rows do not quite meet. */
function unevenMachine(piece: Piece): Piece {
  const { source } = piece.machine;
  const late = { ...source, riseTimeS: 0.0003, fallTimeS: 0.0001, spotAcrossMm: 0.11 };
  return { ...piece, machine: { ...piece.machine, source: late } };
}

const pieceBy = (screen: Pass['screen'], dots: number): Piece =>
  flatFilm(unevenMachine(plainPiece(dots, { screen, rowOffsetErrorMm: 0.03, lightEndPower: 0.95 })));

async function burned(piece: Piece, picture: Picture) {
  const { color, proof, width, height } = await burn(piece, picture, await cpuRunner());
  const table = srgbDecodingTable(8);
  const luminance = Float32Array.from({ length: width * height }, (_, i) => {
    const [red, green, blue] = [0, 1, 2].map((k) => table[color[4 * i + k]]);
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
  });
  return { luminance, proof, width, height };
}

function placed(piece: Piece, width: number, height: number, at: (x: number, y: number) => number): PlacedDots {
  const [pass] = piece.passes;
  const lightness = Float32Array.from({ length: width * height }, (_, i) => at(i % width, Math.floor(i / width)));
  const image = { width, height, lightness, mask: new Uint8Array(width * height).fill(255) };
  const raster = createPassRaster(width * pass.rowPitchMm, height * pass.rowPitchMm, pass.rowPitchMm, 0);
  return placeDots(piece, pass, image, raster, appearanceOf(piece));
}

const wavy = (x: number, y: number): number => 0.5 + 0.35 * Math.sin(x / 9) * Math.cos(y / 13);

describe('the model of dots', () => {
  test('says of every cell what the burn makes of it, whichever way its row runs', async () => {
    const piece = pieceBy('floyd-steinberg', 90);
    const { luminance, proof, width, height } = await burned(piece, lightnessPicture(90, 60, wavy));
    const { model } = placed(piece, width, height, wavy).work;
    const [{ levels, spans }] = proof.screened;
    let squares = 0;
    let count = 0;
    for (let y = 2; y < height - 2; y++) {
      for (let x = 3; x < width - 3; x++) {
        let pattern = 0;
        for (let dy = -1; dy <= 1; dy++) {
          for (let dx = -2; dx <= 2; dx++) if (levels[(y + dy) * width + x + dx] > 127) pattern |= patternBit(-dx, -dy);
        }
        squares += (model.luminance[spans.backwards[y]][pattern] - luminance[y * width + x]) ** 2;
        count++;
      }
    }
    expect(count).toBeGreaterThan(4000);
    // Colours are bytes: at a luminance of 0.5 one of them is 0.006.
    expect(Math.sqrt(squares / count)).toBeLessThan(0.001);
  });
});

describe('dots placed in one sweep', () => {
  test('come out as light as they should, on 17 even steps', async () => {
    const steps = 17;
    const side = 48;
    const margin = 6;
    const piece = pieceBy('model-diffusion', side);
    const { darkest, lightest } = shownRange(placed(piece, 8, 8, () => 0).work.model);
    for (let step = 0; step < steps; step++) {
      const tone = step / (steps - 1);
      const { luminance } = await burned(
        piece,
        lightnessPicture(side, side, () => tone),
      );
      let sum = 0;
      for (let y = margin; y < side - margin; y++) {
        for (let x = margin; x < side - margin; x++) sum += luminance[y * side + x] / (side - 2 * margin) ** 2;
      }
      const wanted = lightnessToLuminance(darkest + (lightest - darkest) * tone);
      expect(Math.abs(sum - wanted), `step ${step}`).toBeLessThan(0.005);
    }
  });

  test('leave out the curve, and follow a change of power', () => {
    const piece = plainPiece(40, { screen: 'model-diffusion' });
    const photo = { key: 'wavy', picture: lightnessPicture(40, 30, wavy), castless: null };
    const preparation = createPreparation();
    const levelsOf = (one: Piece) => preparation.screen(photo, one, one.passes[0], () => true).levels;
    const curved = { ...piece.picture.tone, curve: [[0, 0.3] as [number, number], [1, 0.7] as [number, number]] };
    expect(levelsOf({ ...piece, picture: { ...piece.picture, tone: curved } })).toEqual(levelsOf(piece));
    const weaker = { ...piece, passes: [{ ...piece.passes[0], lightEndPower: 0.6 }] };
    const light = (levels: Uint8Array) => levels.reduce((sum, level) => sum + level / 255, 0);
    expect(light(levelsOf(weaker))).toBeGreaterThan(1.05 * light(levelsOf(piece)));
  });

  test('make the quick look’s steps of tone even by themselves, cold and warm', async () => {
    const piece = pieceBy('model-diffusion', 40);
    for (const warmK of [0, 40]) {
      const how = { tones: 9, films: [1], patchDots: 32 };
      const { rgb, tones } = await burnToneScale(piece, appearanceOf(piece), await cpuRunner(), [warmK], how);
      const lightness = tones.map((_, i) => linearRgbToLab([rgb[3 * i], rgb[3 * i + 1], rgb[3 * i + 2]])[0]);
      const [dark, light] = [lightness[0], lightness[8]];
      lightness.forEach((value, i) => {
        expect(Math.abs(value - (dark + (light - dark) * tones[i])), `step ${i} at ${warmK} K`).toBeLessThan(1.5);
      });
    }
  });

  test('lie where the first pass has them, whatever the power of one that goes over it', () => {
    const piece = plainPiece(40, { screen: 'model-diffusion' });
    const [first] = piece.passes;
    const over = { ...first, lightEndPower: 0.5, darkEndPower: 0, only: null };
    const both = { ...piece, passes: [first, over] };
    const photo = { key: 'over', picture: lightnessPicture(40, 30, wavy), castless: null };
    const preparation = createPreparation();
    const levelsOf = (one: Piece, pass: Pass) => preparation.screen(photo, one, pass, () => true).levels;
    expect(levelsOf(both, over)).toEqual(levelsOf(both, first));
    expect(levelsOf({ ...piece, passes: [over] }, over)).not.toEqual(levelsOf(both, over));
  });

  test('turn a picture right where the powers are the wrong way round', () => {
    const levelsOf = (lightEndPower: number, darkEndPower: number) => {
      const piece = plainPiece(40, { screen: 'model-diffusion', lightEndPower, darkEndPower });
      const photo = { key: 'way', picture: lightnessPicture(40, 30, (x) => (x < 20 ? 0.2 : 0.8)), castless: null };
      return createPreparation().screen(photo, piece, piece.passes[0], () => true).levels;
    };
    const burns = (levels: Uint8Array, strong: number, left: boolean) =>
      levels.filter((level, i) => i % 40 < 20 === left && level === strong).length;
    for (const [levels, strong] of [
      [levelsOf(0.85, 0), 255],
      [levelsOf(0, 0.85), 0],
    ] as const) {
      expect(burns(levels, strong, false)).toBeGreaterThan(2 * burns(levels, strong, true));
    }
  });

  test('keep to the mask', () => {
    const piece = plainPiece(30, { screen: 'model-diffusion' });
    const picture = {
      ...lightnessPicture(30, 20, () => 0.8),
      alpha: Float32Array.from({ length: 600 }, (_, i) => +(i % 30 < 15)),
    };
    const { levels } = createPreparation().screen(
      { key: 'half', picture, castless: null },
      piece,
      piece.passes[0],
      () => true,
    );
    expect(levels.some((level, i) => i % 30 < 15 && level > 0)).toBe(true);
    expect(levels.some((level, i) => i % 30 >= 15 && level > 0)).toBe(false);
  });
});

describe('dots that are searched', () => {
  const size = { width: 60, height: 230 };

  test('are the same however many bands are searched at once and in whichever order they are done', async () => {
    const one = placed(pieceBy('direct-search', size.width), size.width, size.height, wavy);
    const here = fineDotsNow(one);
    const waits = [3, 0, 2, 1];
    let asked = 0;
    const search = async (band: Parameters<typeof searchBand>[0]) => {
      const turns = waits[asked++ % waits.length];
      for (let i = 0; i < 5 * turns; i++) await null;
      return searchBand(structuredClone(band));
    };
    expect(await fineDots(one, { searcher: { lanes: 3, search } })).toEqual(here);
    expect(here).not.toEqual(one.levels);
  });

  test('stop where they are told to', async () => {
    const stop = new AbortController();
    const one = placed(pieceBy('direct-search', 30), 30, 230, wavy);
    const shares: number[] = [];
    const onShare = (share: number) => {
      shares.push(share);
      stop.abort(new Error('enough'));
    };
    await expect(fineDots(one, { signal: stop.signal, onShare })).rejects.toThrow('enough');
    expect(shares).toHaveLength(1);
  });

  test('are the same after any stops, at any number of lanes, and no band that was found is searched again', async () => {
    const one = placed(pieceBy('direct-search', 24), 24, 230, wavy);
    const here = fineDotsNow(one);
    for (const [lanes, bands] of [
      [1, 1],
      [1, 2],
      [2, 1],
      [3, 2],
    ]) {
      const soFar: SearchSoFar = [];
      let asked = 0;
      let found: Uint8Array | null = null;
      let stops = 0;
      const search = async (band: Parameters<typeof searchBand>[0]) => {
        asked++;
        return searchBand(band);
      };
      const shares: number[] = [];
      while (!found) {
        const stop = new AbortController();
        let heard = -1;
        const onShare = (share: number) => {
          shares.push(share);
          heard++;
          if (heard === bands) stop.abort(new Error('enough'));
        };
        const hooks = { searcher: { lanes, search }, signal: stop.signal, onShare };
        found = await fineDots(one, hooks, soFar).catch(() => null);
        if (!found) stops++;
      }
      expect(stops).toBeGreaterThan(0);
      expect(found).toEqual(here);
      // Three bands and their two seams; a lane that was stopped may have one under way that the next search asks for as well.
      expect(asked).toBeLessThanOrEqual(5 + stops * (lanes - 1));
      expect(shares).toEqual([...shares].sort((a, b) => a - b));
      expect(shares.at(-1)).toBe(1);
    }
  });

  test('go on where they were stopped when the same pass is made ready again, by whomever', async () => {
    const piece = plainPiece(32, { screen: 'direct-search' });
    const photo = { key: 'stopped', picture: lightnessPicture(32, 230, wavy), castless: null };
    const [pass] = piece.passes;
    const stop = new AbortController();
    let asked = 0;
    const search = async (band: Parameters<typeof searchBand>[0]) => {
      asked++;
      if (asked === 2) stop.abort(new Error('enough'));
      return searchBand(band);
    };
    const searcher = { lanes: 1, search };
    await expect(createPreparation().search(photo, piece, pass, { searcher, signal: stop.signal })).rejects.toThrow(
      'enough',
    );
    await createPreparation().search(photo, piece, pass, { searcher });
    const total = asked;
    await createPreparation().search(photo, piece, pass, { searcher });
    expect(asked).toBe(total);
    const whole = { ...photo, picture: { ...photo.picture } };
    const levelsOf = (of: typeof photo) => createPreparation().screen(of, piece, pass, () => true).levels;
    expect(levelsOf(photo)).toEqual(levelsOf(whole));
    expect(total).toBe(5);
  });

  test('come nearer to the picture than those of one sweep, which come nearer than error diffusion with fitted tones', async () => {
    const { width, height } = { width: 96, height: 64 };
    const gradient = (x: number, y: number) => 0.15 + (0.7 * x) / width + (Math.floor(y / 16) % 2 ? 0.05 : 0);
    const rmsOf = async (screen: Pass['screen']) => {
      const piece = pieceBy(screen, width);
      const { luminance } = await burned(piece, lightnessPicture(width, height, gradient));
      const { darkest, lightest } = shownRange(placed(piece, 8, 8, () => 0).work.model);
      const lightness = Float32Array.from({ length: width * height }, (_, i) =>
        gradient(i % width, Math.floor(i / width)),
      );
      const wanted = lightness.map((value) => lightnessToLuminance(darkest + (lightest - darkest) * value));
      const mask = new Uint8Array(width * height).fill(255);
      return seenError({ width, height, pitchMm: 0.1, burned: luminance, wanted, lightness, mask }).rms;
    };
    const [searched, swept] = [await rmsOf('direct-search'), await rmsOf('model-diffusion')];
    expect(searched).toBeLessThan(0.75 * swept);
    // Straight tones under a plain screen are far too light; what is left of its error once they are fitted is told by npm run bench:dots.
    expect(swept).toBeLessThan(0.3 * (await rmsOf('floyd-steinberg')));
  });

  test('answer a dose that is off less than dots of a plain screen that are as light', () => {
    const side = 96;
    const piece = { ...plainPiece(side, { rows: 'one-way' }), heat: { carryOver: false, retainedShare: 0.3 } };
    const one = placed(piece, side, side, () => 0.5);
    const { luminance, sway } = one.work.model;
    const meanBy = (table: Float32Array, levels: Uint8Array): number => {
      let sum = 0;
      for (let y = 8; y < side - 8; y++) {
        for (let x = 8; x < side - 8; x++) {
          let pattern = 0;
          for (let dy = -1; dy <= 1; dy++) {
            for (let dx = -2; dx <= 2; dx++)
              if (levels[(y + dy) * side + x + dx] > 127) pattern |= patternBit(-dx, -dy);
          }
          sum += table[pattern] / (side - 16) ** 2;
        }
      }
      return sum;
    };
    const mask = new Uint8Array(side * side).fill(255);
    const screened = (lightness: number) =>
      screenTone(
        { width: side, height: side, lightness: new Float32Array(side * side).fill(lightness), mask },
        'blue-noise',
      );
    const wanted = meanBy(luminance[0], one.levels);
    let [low, high] = [0, 1];
    for (let i = 0; i < 12; i++) {
      const middle = (low + high) / 2;
      if (meanBy(luminance[0], screened(middle)) < wanted) low = middle;
      else high = middle;
    }
    const plain = meanBy(sway[0], screened(high));
    expect(meanBy(luminance[0], fineDotsNow(one))).toBeCloseTo(wanted, 2);
    expect(meanBy(sway[0], one.levels)).toBeLessThan(plain);
    expect(meanBy(sway[0], fineDotsNow(one))).toBeLessThan(0.85 * plain);
  });

  test('go into proof and program alike', async () => {
    const piece = plainPiece(48, { screen: 'direct-search' });
    const photo = { key: 'both', picture: lightnessPicture(48, 36, wavy), castless: null };
    const { screened } = await createProofPipeline().proof(
      { piece, photo, collect: { surface: false, fields: false, painted: false } },
      await cpuRunner(),
    );
    expect(createPreparation(true).screen(photo, piece, piece.passes[0], () => true).levels).toEqual(
      screened[0].levels,
    );
  });
});

describe('what is seen of errors', () => {
  const width = 60;
  const height = 40;
  const plane = (at: (i: number) => number) => Float32Array.from({ length: width * height }, (_, i) => at(i));
  const seenOf = (off: (i: number) => number) =>
    seenError({
      width,
      height,
      pitchMm: 0.1,
      burned: plane((i) => 0.3 + off(i)),
      wanted: plane(() => 0.3),
      lightness: plane(() => 0.95),
      mask: new Uint8Array(width * height).fill(255),
    });

  test('is nothing where there are none, all of them where they are even, little of fine checks', () => {
    expect(seenOf(() => 0).rms).toBeLessThan(1e-6);
    const even = seenOf(() => 0.03);
    const steps = 100 * (luminanceToLightness(0.33) - luminanceToLightness(0.3));
    expect(even.rms).toBeCloseTo(steps, 3);
    expect(even.light).toBeCloseTo(steps, 3);
    expect(even.mottle).toBeCloseTo(steps, 2);
    const checks = seenOf((i) => (((i % width) + Math.floor(i / width)) % 2 ? 0.1 : -0.1));
    expect(checks.rms).toBeLessThan(0.15);
  });
});
