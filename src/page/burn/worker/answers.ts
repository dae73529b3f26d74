import { encodeSrgbByte } from '../../../base/color/srgb.ts';
import type { Answerers } from '../../../base/remote/remote.ts';
import { fitTones } from '../../../burn/fit-tones.ts';
import { createPreparation, type Photo } from '../../../burn/prepare.ts';
import { createProofPipeline, cropColors } from '../../../burn/proof.ts';
import type { ToneImage } from '../../../image/picture.ts';
import { preparedGreys, setPngResolution } from '../../../image/png-stream.ts';
import { adjustedLightness } from '../../../image/tone.ts';
import { firstLadder } from '../../../outputs/paper/first-ladder.ts';
import { optionSeconds } from '../../../outputs/paper/quote-paper.ts';
import { JobRefused } from '../../../outputs/program/refusals.ts';
import { burnCourse, pauseEffect, takeUp } from '../../../outputs/program/take-up.ts';
import { meanWarmthsK } from '../../../physics/heat/warmth.ts';
import { encodePieceFile } from '../../../piece/file.ts';
import type { Piece } from '../../../piece/schema.ts';
import { check, choose } from '../../../studies/choose/choose.ts';
import { DIAGNOSE_DEFAULTS, diagnose } from '../../../studies/diagnose/diagnose.ts';
import { createProofTally, type ProofTally } from '../../../studies/diagnose/tally.ts';
import { screenPatches, tellingCrop } from '../../../studies/grid/screen-patches.ts';
import { proposeRescue } from '../../../studies/rescue/propose.ts';
import { findCorners, readBurned } from '../../../studies/rescue/read-burned.ts';
import { type RescueTools, rescueTools } from '../../../studies/rescue/rescue-scene.ts';
import { type Band, bandsOf, howSure, likelyEnds } from '../../../studies/sure/how-sure.ts';
import { JUDGE_DRAWS, judged } from '../../../studies/sure/judge.ts';
import { withDrawnFilm } from '../../../studies/sure/spread.ts';
import { learnFromStrip, proveStrip } from '../../../studies/test-strip/learn-from-strip.ts';
import { makeStrip } from '../../../studies/test-strip/make-strip.ts';
import { STRIP_PICTURE_FILE, STRIP_PREPARATION } from '../../../studies/test-strip/strip-piece.ts';
import { decodePhoto } from './decode-photo.ts';
import { drawSheet } from './draw-sheet.ts';
import {
  coarsePipeline,
  drawPicture,
  fullRunner,
  keepSwath,
  keepWork,
  keptProof,
  photoOf,
  photos,
  pipeline,
  proofOf,
  proofs,
  quickRunner,
  readProbe,
} from './engine.ts';
import { answerMachineFile, answerPlate } from './machine-file.ts';
import { answerProof } from './proof.ts';
import type { Answerer, Questions, QuickLook, TonesAnswer, WireSwath } from './questions.ts';
import { answerScrapJob } from './scrap-job.ts';

const answerPictureSheet: Answerer<'picture-sheet'> = async (sheet, asker) => {
  const png = await drawSheet(sheet, asker);
  return { gets: png, transfer: [png.buffer as ArrayBuffer] };
};

let probes = 0;
let probing: Promise<unknown> = Promise.resolve();

/** A place that the pointer has left again before it was its turn reads as nothing. */
const answerProbe: Answerer<'probe'> = async ({ id, xMm, yMm }) => {
  probes++;
  const turn = probes;
  const reading = probing.then(() => {
    const proof = turn === probes ? proofs.get(id) : null;
    return proof ? readProbe(proof, xMm, yMm) : null;
  });
  probing = reading.catch(() => {});
  return { gets: await reading };
};

const answerRescue: Answerer<'rescue'> = async ({ piece, photoKey, wishes }, { signal, onProgress }) => {
  const photo = await photoOf(photoKey);
  const tools = await toolsToRescue(signal);
  return { gets: await proposeRescue(piece, photo, tools, wishes, (share) => onProgress(share, 'rescue')) };
};

const handedOver = (png: Uint8Array) => ({ gets: png, transfer: [png.buffer as ArrayBuffer] });

const answerPicture: Answerer<'picture'> = async ({ id, which }) => handedOver(await drawPicture(proofOf(id), which));

const answerPrepared: Answerer<'prepared'> = async ({ piece, photoKey }) =>
  handedOver(await drawPrepared(pipeline.prepared(piece, await photoOf(photoKey)), piece.passes[0].rowPitchMm));

const answerBurnedCorners: Answerer<'burned-corners'> = async (
  { piece, photoKey, burned, near },
  { signal, onProgress },
) => {
  const photo = await photoOf(photoKey);
  const tools = await toolsToRescue(signal);
  return { gets: await findCorners(piece, photo, burned, tools, near, (share) => onProgress(share, 'photograph')) };
};

const answerBurnedReading: Answerer<'burned-reading'> = async ({ piece, photoKey, burned }, { signal, onProgress }) => {
  const photo = await photoOf(photoKey);
  const tools = await toolsToRescue(signal);
  return { gets: await readBurned(piece, photo, burned, tools, (share) => onProgress(share, 'photograph')) };
};

const answerTakeUp: Answerer<'take-up'> = async ({ piece, photoKey, pass, at, pauseS }, { signal }) => {
  const photo = await photoOf(photoKey);
  try {
    return { gets: await takeUp(piece, photo, pass, at, pauseS, await toolsToRescue(signal)) };
  } catch (error) {
    if (error instanceof JobRefused) return { gets: { refusals: error.refusals } };
    throw error;
  }
};

const answerChoose: Answerer<'choose'> = async ({ piece, photoKey, wishes }, { signal, onProgress, onPart }) => {
  const photo = await photoOf(photoKey);
  const hooks = { signal, onProgress, onPartial: onPart };
  const scene = coarsePipeline.scene(withDrawnFilm(piece, 0), photo);
  const appearance = pipeline.appearance(piece);
  const found = await choose({ piece, scene, appearance, wishes }, quickRunner, hooks);
  onPart(found);
  return { gets: await check({ piece, photo, scene: coarsePipeline.scene(piece, photo) }, found, fullRunner, hooks) };
};

const answerTones: Answerer<'tones'> = async ({ piece, photoKey }, { signal }) => {
  const photo = await photoOf(photoKey);
  const warmthsK = coarsePipeline.warmthsK(piece, photo);
  const appearance = pipeline.appearance(piece);
  const fitted = await fitTones(piece, appearance, quickRunner, { warmthsK, signal });
  const { width, height, lightness } = coarsePipeline.scene(piece, photo);
  const wished = lightness.map(adjustedLightness({ ...piece.picture.tone, gamma: 1, intent: [], curve: [] }));
  return { gets: { ...fitted, histogram: lightnessHistogram(wished), small: shrunk(wished, width, height) } };
};

/** About as wide as its place on the page on a fine display. */
const SMALL_PX = 280;

function shrunk(lightness: Float32Array, width: number, height: number): TonesAnswer['small'] {
  const step = Math.max(1, width / SMALL_PX);
  const [across, down] = [Math.floor(width / step), Math.floor(height / step)];
  const at = (i: number) => Math.floor(Math.floor(i / across) * step) * width + Math.floor((i % across) * step);
  const small = Uint8Array.from({ length: across * down }, (_, i) => Math.round(255 * lightness[at(i)]));
  return { width: across, height: down, lightness: small };
}

const HISTOGRAM_BINS = 64;

function lightnessHistogram(lightness: Float32Array): number[] {
  const counts = new Array<number>(HISTOGRAM_BINS).fill(0);
  for (const value of lightness) counts[Math.min(HISTOGRAM_BINS - 1, Math.floor(value * HISTOGRAM_BINS))]++;
  return counts;
}

const answerBands: Answerer<'bands'> = async ({ pieces, photoKey }, { signal, onProgress }) => {
  const photo = await photoOf(photoKey);
  const runner = fullRunner;
  const bands: (Band | null)[] = [];
  let done = 0;
  for (const piece of pieces) {
    const ready = await pipeline.ready({ piece, photo }, signal, fullRunner);
    const { judge, judgement } = await judged(piece, ready, runner, JUDGE_DRAWS, {
      signal,
      onDraw: () => onProgress(done++ / (JUDGE_DRAWS * pieces.length), 'likely results'),
    });
    bands.push(bandsOf(judgement, judge.lit).uncleared);
  }
  return { gets: bands };
};

const answerPhoto: Answerer<'photo'> = async ({ key, bytes }) => {
  const decoding = decodePhoto(bytes).then((decoded): Photo => ({ key, ...decoded }));
  photos.set(key, decoding);
  try {
    const { width, height } = (await decoding).picture;
    return { gets: { width, height } };
  } catch (error) {
    photos.delete(key);
    throw error;
  }
};

const answerForget: Answerer<'forget'> = ({ id }) => {
  proofs.delete(id);
  return { gets: null };
};

const answerForgetPhoto: Answerer<'forget-photo'> = ({ key }) => {
  photos.delete(key);
  return { gets: null };
};

const answerLadder: Answerer<'ladder'> = async ({ piece, photoKey }, { signal }) => {
  const photo = await photoOf(photoKey);
  const ready = await pipeline.ready({ piece, photo }, signal, fullRunner);
  return { gets: await firstLadder(piece, ready, fullRunner, signal) };
};

const answerOptionSeconds: Answerer<'option-seconds'> = async ({ piece, photoKey }, { onProgress }) => {
  const photo = await photoOf(photoKey);
  const preparation = createPreparation();
  const { options } = piece.quote;
  const seconds = options.map((option, i) => {
    onProgress(i / options.length, option.name);
    return optionSeconds(preparation, photo, piece, option);
  });
  return { gets: seconds };
};

const COLLECT = { surface: true, fields: false, painted: false };

const answerCrop: Answerer<'crop'> = async ({ piece, photoKey, crop }, { signal, onProgress }) => {
  const photo = await photoOf(photoKey);
  const proof = await pipeline.crop({ piece, photo, crop, collect: COLLECT }, fullRunner, {
    signal,
    onShare: (share) => onProgress(share, 'burn'),
  });
  const { width, height, pitchMm } = proof.grid;
  const color = cropColors(proof);
  const gets = { width, height, pitchMm, color, summary: proof.summary };
  return { gets, transfer: [color.buffer as ArrayBuffer] };
};

const answerTellingCrop: Answerer<'telling-crop'> = async ({ piece, photoKey, widthMm, heightMm }) => ({
  gets: tellingCrop(coarsePipeline, piece, await photoOf(photoKey), widthMm, heightMm),
});

const answerScreenPatches: Answerer<'screen-patches'> = async ({ piece, pass, photoKey }, { signal, onPart }) => {
  const tools = { coarse: coarsePipeline, runner: fullRunner, signal };
  await screenPatches(piece, pass, await photoOf(photoKey), tools, (patch) =>
    onPart(patch, [patch.color.buffer as ArrayBuffer]),
  );
  return { gets: null };
};

const DRAWS = 24;

const answerLikelyEnds: Answerer<'likely-ends'> = async ({ piece, photoKey }, { signal, onProgress }) => {
  const photo = await photoOf(photoKey);
  const runner = fullRunner;
  const warmthsK = coarsePipeline.warmthsK(piece, photo);
  const scene = coarsePipeline.scene(piece, photo);
  const ends = await likelyEnds(piece, scene, pipeline.appearance(piece), runner, {
    draws: DRAWS,
    warmthsK,
    signal,
    onShare: (share) => onProgress(share, 'likely results'),
  });
  const look = async (one: Piece): Promise<QuickLook> => {
    const { color, relief, ...size } = await coarsePipeline.coarse(one, photo, pipeline.appearance(one), runner);
    return { ...size, swath: { y0: 0, rows: size.height, color, relief } };
  };
  return { gets: { lighter: await look(ends.lighter), darker: await look(ends.darker) } };
};

type Between = Questions['burn-course']['gets']['between'][number];

const answerBurnCourse: Answerer<'burn-course'> = async ({ piece, photoKey }, { signal, onProgress }) => {
  const photo = await photoOf(photoKey);
  const { courses } = burnCourse(piece, photo);
  const between: Between[] = [];
  const stages = piece.passes.length - 1;
  for (let done = 1; done <= stages; done++) {
    const swaths: WireSwath[] = [];
    const { grid } = await pipeline.proof(
      {
        piece: { ...piece, passes: piece.passes.slice(0, done) },
        photo,
        collect: { surface: true, fields: false, painted: false },
      },
      fullRunner,
      {
        signal,
        onProgress: (share, stage) => onProgress((done - 1 + share) / stages, stage),
        onSwath: ({ y0, rows, color, relief }) => {
          if (color && relief) swaths.push({ y0, rows, color, relief });
        },
      },
    );
    between.push({ width: grid.width, height: grid.height, pitchMm: grid.pitchMm, swaths });
  }
  const transfer = between.flatMap(({ swaths }) =>
    swaths.flatMap(({ color, relief }) => [color.buffer, relief.buffer]),
  );
  return { gets: { courses, between }, transfer: transfer as ArrayBuffer[] };
};

const answerPause: Answerer<'pause'> = async ({ piece, photoKey, pass, pause }) => {
  const photo = await photoOf(photoKey);
  const { screened } = burnCourse(piece, photo);
  const scene = coarsePipeline.scene(piece, photo);
  const appearance = pipeline.appearance(piece);
  return { gets: await pauseEffect(piece, pass, pause, screened, scene, appearance, quickRunner) };
};

/** Of its own, so that the proof on the table keeps its stages. */
const stripPipeline = createProofPipeline({ swathRows: 16 });

const answerTestStrip: Answerer<'test-strip'> = async ({ piece, photoKey, order }, { signal, onProgress }) => {
  const strip = makeStrip(piece, await photoOf(photoKey), order);
  const key = JSON.stringify([photoKey, piece.picture, piece.passes[0].rowPitchMm, order]);
  const proof = await proveStrip(strip, stripPipeline, quickRunner, { signal, onProgress }, key);
  const pixels = new Uint8ClampedArray(proof.color);
  for (let i = 3; i < pixels.length; i += 4) pixels[i] = 255;
  const grey = new Uint8ClampedArray(4 * strip.picture.luminance.length).fill(255);
  strip.picture.luminance.forEach((value, i) => {
    grey.fill(encodeSrgbByte(value), 4 * i, 4 * i + 3);
  });
  const image = await png(grey, strip.picture.width, strip.picture.height);
  const file = encodePieceFile({ piece: strip.piece, images: new Map([[STRIP_PICTURE_FILE, image]]) });
  const { color: _, ...rest } = proof;
  const { widthMm, heightMm } = strip.layout;
  return {
    gets: { ...rest, widthMm, heightMm, picture: await png(pixels, proof.width, proof.height), file },
    transfer: [file.buffer as ArrayBuffer],
  };
};

const answerStripJob: Answerer<'strip-job'> = async ({ piece, photoKey, order }, { signal }) => {
  const strip = makeStrip(piece, await photoOf(photoKey), order);
  const burn = {
    title: strip.piece.name,
    name: 'test-strip',
    piece: strip.piece,
    photo: { key: 'test-strip', picture: strip.picture, castless: null },
    before: STRIP_PREPARATION,
    after: ['Look at the bands from where the piece will be seen, and say in Foreburn which ones are clear.'],
    files: [],
  };
  return { gets: await answerScrapJob(burn, signal) };
};

const answerStripLesson: Answerer<'strip-lesson'> = async (
  { piece, photoKey, order, answer },
  { signal, onProgress },
) => {
  const tools = await toolsToRescue(signal);
  const photo = await photoOf(photoKey);
  return { gets: await learnFromStrip(piece, photo, order, answer, tools, (share) => onProgress(share, 'strip')) };
};

async function png(pixels: Uint8ClampedArray<ArrayBuffer>, width: number, height: number): Promise<Uint8Array> {
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d');
  if (!context) throw new Error('the browser has no memory left for the picture');
  context.putImageData(new ImageData(pixels, width, height), 0, 0);
  return new Uint8Array(await (await canvas.convertToBlob({ type: 'image/png' })).arrayBuffer());
}

const answerRepeat: Answerer<'repeat'> = async ({ id, piece, photoKey, bare }, { signal, onProgress }) => {
  const photo = await photoOf(photoKey);
  const quick = quickRunner;
  const { color, relief, ...size } = await coarsePipeline.coarse(piece, photo, pipeline.appearance(piece), quick);
  const coarse = { ...size, swath: { y0: 0, rows: size.height, color, relief } };
  const swaths: WireSwath[] = [];
  let tally: ProofTally | null = null;
  const proof = await pipeline
    .proof({ piece, photo, collect: COLLECT }, fullRunner, {
      signal,
      now: () => performance.now(),
      onProgress,
      onTone: (tone) => {
        tally = createProofTally(tone, piece.passes[0].rowPitchMm);
      },
      onGrid: (grid) => {
        proofs.set(id, keptProof(grid));
      },
      onSwath: (swath) => {
        const kept = proofs.get(id);
        if (!kept || !swath.color || !swath.relief) return;
        keepSwath(kept, swath);
        tally?.add(swath);
        if (!bare) swaths.push({ y0: swath.y0, rows: swath.rows, color: swath.color, relief: swath.relief });
      },
    })
    .catch((error: unknown) => {
      proofs.delete(id);
      throw error;
    });
  const kept = proofs.get(id);
  if (kept) keepWork(kept, proof.work, (swath) => keepSwath(kept, swath));
  const { grid, summary, passes, direction, stagesMs } = proof;
  const backend = fullRunner.description;
  const scene = coarsePipeline.scene(piece, photo);
  const sums = (tally as ProofTally | null)?.sums();
  if (!sums) throw new Error('the proof has nothing in it');
  const full = fullRunner;
  const said = await judged(piece, proof, full, JUDGE_DRAWS, { signal });
  const sure = await howSure(piece, said, proof.appearance, scene, full, meanWarmthsK(proof.warmths), signal);
  const photoPixels = photo.picture.width;
  const diagnosis = await diagnose(piece, proof, said, sums, scene, quick, {
    ...DIAGNOSE_DEFAULTS,
    photoPixels,
    signal,
  });
  const { width, height, pitchMm } = grid;
  const result = { summary, passes, direction, backend, stagesMs };
  const buffers = [coarse.swath, ...swaths].flatMap((swath) => [swath.color.buffer, swath.relief.buffer]);
  const transfer = [...buffers, sure.map.uncleared.buffer, sure.map.scorched.buffer] as ArrayBuffer[];
  return { gets: { width, height, pitchMm, swaths, coarse, result, diagnosis, sure }, transfer };
};

export const ANSWERERS: Answerers<Questions> = {
  photo: answerPhoto,
  proof: answerProof,
  forget: answerForget,
  'forget-photo': answerForgetPhoto,
  probe: answerProbe,
  'likely-ends': answerLikelyEnds,
  'burn-course': answerBurnCourse,
  pause: answerPause,
  'take-up': answerTakeUp,
  picture: answerPicture,
  prepared: answerPrepared,
  crop: answerCrop,
  'telling-crop': answerTellingCrop,
  'screen-patches': answerScreenPatches,
  repeat: answerRepeat,
  'picture-sheet': answerPictureSheet,
  bands: answerBands,
  ladder: answerLadder,
  'option-seconds': answerOptionSeconds,
  'machine-file': answerMachineFile,
  plate: answerPlate,
  choose: answerChoose,
  rescue: answerRescue,
  'burned-corners': answerBurnedCorners,
  'burned-reading': answerBurnedReading,
  'test-strip': answerTestStrip,
  'strip-job': answerStripJob,
  'strip-lesson': answerStripLesson,
  tones: answerTones,
};

/** A prepared picture as a PNG that carries its size: grey, transparent where nothing burns. */
async function drawPrepared(tone: ToneImage, pitchMm: number): Promise<Uint8Array> {
  const { width, height } = tone;
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d');
  if (!context) throw new Error('the browser has no memory left for the picture');
  context.putImageData(new ImageData(preparedGreys(tone, 3), width, height), 0, 0);
  const blob = await canvas.convertToBlob({ type: 'image/png' });
  return setPngResolution(new Uint8Array(await blob.arrayBuffer()), 1 / pitchMm);
}

/** What searches over drawn pieces work with; between burns messages can come in. */
const toolsToRescue = async (signal: AbortSignal): Promise<RescueTools> =>
  rescueTools(pipeline, coarsePipeline, fullRunner, signal);
