import { Cancelled } from '../base/cancelled.ts';
import { lightnessToLuminance, luminanceToLightness } from '../image/lightness.ts';
import type { DecodedPhoto, Picture, ToneImage } from '../image/picture.ts';
import { resamplePicture } from '../image/resample.ts';
import { rotatePicture } from '../image/rotate.ts';
import { screenTone } from '../image/screens/screen-tone.ts';
import { adjustTone } from '../image/tone.ts';
import { leastGapMm } from '../physics/raster/gaps.ts';
import { orientToRaster } from '../physics/raster/orient.ts';
import { createPassRaster, type ScreenedPass } from '../physics/raster/pass-raster.ts';
import { feedOf } from '../physics/raster/pass-time.ts';
import { findSpans, type RowSpans } from '../physics/raster/spans.ts';
import { pictureFrame, turnOf, uprightHeightMm } from '../piece/frame.ts';
import type { Pass, Piece, Repair, Tiles, Tone } from '../piece/schema.ts';
import { unpackTiles } from '../piece/tiles.ts';
import { directionOf } from './direction.ts';
import { createMemo } from './memo.ts';
import { pictureMask } from './picture-mask.ts';
import { repairPicture } from './repaired.ts';

/** A decoded photograph with a name that changes whenever its pixels do. */
export interface Photo extends DecodedPhoto {
  readonly key: string;
}

/** The photo with so much of its cast taken away as the piece asks for. */
export function sourcePicture({ picture, castless }: Photo, { cast }: Repair): Picture {
  if (cast === 0 || !castless) return picture;
  const luminance = picture.luminance.map((value, i) => value + cast * (castless.luminance[i] - value));
  return { ...picture, luminance };
}

const dots = (lengthMm: number, pitchMm: number): number => Math.max(1, Math.round(lengthMm / pitchMm));

/** Dots of what the placed picture covers, at a pitch. */
export function pictureDots(piece: Piece, picture: Picture, pitchMm: number): { width: number; height: number } {
  const { widthMm, heightMm } = pictureFrame(piece.picture, picture);
  return { width: dots(widthMm, pitchMm), height: dots(heightMm, pitchMm) };
}

/** The photo as it lies on the slab, at a pitch: resampled and turned. */
export function placedPicture(piece: Piece, picture: Picture, pitchMm: number): Picture {
  const { width, height } = pictureDots(piece, picture, pitchMm);
  if (piece.picture.rotationRad === 0) return resamplePicture(picture, width, height);
  const uprightWidth = dots(piece.picture.widthMm, pitchMm);
  const upright = resamplePicture(picture, uprightWidth, dots(uprightHeightMm(piece.picture, picture), pitchMm));
  return rotatePicture(upright, turnOf(piece.picture), width, height);
}

export interface Preparation {
  /** The picture at a pitch with its tones, masked to its crop and to the slab. */
  tone(photo: Photo, piece: Piece, pitchMm: number, tone: Tone): ToneImage;
  /** A pass's raster, screened. `fires` says which levels let light out. */
  screen(photo: Photo, piece: Piece, pass: Pass, fires: (level: number) => boolean): ScreenedPass;
}

/**
 * The stages before the burn, each kept by what it depends on, so that a change of power does none of them again. `once`: nothing is
 * asked for again with other tones, so the picture is toned in its own place, which saves the largest plane there is.
 */
export function createPreparation(shouldStop: () => boolean = () => false, once = false): Preparation {
  const resampled = createMemo<Picture>(once ? 0 : 3);
  const repaired = createMemo<Picture>(once ? 0 : 3);
  const toned = createMemo<ToneImage>(4);
  const screened = createMemo<Omit<ScreenedPass, 'spans'>>(6);
  const travelled = createMemo<RowSpans>(8);
  const goOn = () => {
    if (shouldStop()) throw new Cancelled();
  };

  function tone(photo: Photo, piece: Piece, pitchMm: number, settings: Tone): ToneImage {
    const { width, height } = pictureDots(piece, photo.picture, pitchMm);
    return toned(JSON.stringify([placedKey(photo, piece, pitchMm), settings]), () => {
      goOn();
      const { widthMm, rotationRad, repair } = piece.picture;
      const placed = JSON.stringify([photo.key, widthMm, pitchMm, rotationRad]);
      const picture = repaired(JSON.stringify([placed, repair]), () => {
        const whole = resampled(JSON.stringify([placed, repair.cast]), () =>
          placedPicture(piece, sourcePicture(photo, repair), pitchMm),
        );
        goOn();
        return repairPicture(whole, repair, pitchMm, shouldStop);
      });
      goOn();
      const ours =
        once && picture.luminance !== photo.picture.luminance && picture.luminance !== photo.castless?.luminance;
      const image = adjustTone(picture, settings, pitchMm, ours ? picture.luminance : undefined);
      const mask = pictureMask(piece, photo.picture, width, height, pitchMm);
      if (directionOf(piece) === 'darkens') fadeToLight(image, mask);
      else for (let i = 0; i < mask.length; i++) image.mask[i] = (image.mask[i] * mask[i] + 127) / 255;
      return image;
    });
  }

  function screen(photo: Photo, piece: Piece, pass: Pass, fires: (level: number) => boolean): ScreenedPass {
    const settings = pass.tone ?? piece.picture.tone;
    const image = tone(photo, piece, pass.rowPitchMm, settings);
    const key = [image.width, image.height, pass.headingRad, pass.screen, pass.serpentine, settings];
    const everywhere = JSON.stringify([placedKey(photo, piece, pass.rowPitchMm), key]);
    const whole = screened(everywhere, () => {
      const raster = createPassRaster(
        image.width * pass.rowPitchMm,
        image.height * pass.rowPitchMm,
        pass.rowPitchMm,
        pass.headingRad,
      );
      const oriented = orientToRaster(image, pass.rowPitchMm, raster);
      goOn();
      const levels = screenTone(oriented, pass.screen, { serpentine: pass.serpentine, onRow: () => !shouldStop() });
      return { raster, levels, mask: oriented.mask };
    });
    // Screened as a whole first: a pass in some places must hit the same dots there as one everywhere.
    const dots = pass.only ? `${everywhere} ${JSON.stringify(pass.only)}` : everywhere;
    const result = pass.only
      ? screened(dots, () => {
          const oriented = orientToRaster(onlyWhere(image, pass.only), pass.rowPitchMm, whole.raster);
          return { ...whole, mask: oriented.mask };
        })
      : whole;
    const { raster, levels, mask } = result;
    const leastGap = leastGapMm(feedOf(pass, piece.machine.motion), piece.machine.motion) / pass.rowPitchMm;
    const twoWay = pass.rows === 'two-way';
    const firing = Array.from({ length: 256 }, (_, level) => (fires(level) ? 1 : 0)).join('');
    const spans = travelled(`${dots} ${firing} ${twoWay} ${leastGap}`, () =>
      findSpans(levels, mask, raster.columns, raster.rows, fires, twoWay, leastGap),
    );
    return { ...result, spans };
  }

  return { tone, screen };
}

/** The picture with nothing to burn where the tiles over it are 0. */
function onlyWhere(image: ToneImage, only: Tiles | null): ToneImage {
  if (!only) return image;
  const { width, height } = image;
  const { columns, rows } = only;
  const tiles = unpackTiles(only);
  const mask = image.mask.map((value, i) => {
    const column = Math.floor((((i % width) + 0.5) * columns) / width);
    const row = Math.floor(((Math.floor(i / width) + 0.5) * rows) / height);
    return tiles[row * columns + column] === 0 ? 0 : value;
  });
  return { ...image, mask };
}

/** What decides which dots a picture has and which of them may burn. */
function placedKey(photo: Photo, piece: Piece, pitchMm: number): unknown {
  const { tone: _, file: __, ...placed } = piece.picture;
  const { shape, widthMm, heightMm, outlineMm } = piece.slab;
  // Colours decide whether the picture fades to the dark or to the light end.
  return [photo.key, pitchMm, placed, shape, widthMm, heightMm, outlineMm, directionOf(piece)];
}

/** Where burning darkens, a picture that fades out fades to the light end: the mask becomes lightness. */
function fadeToLight({ lightness, mask }: ToneImage, faded: Uint8Array): void {
  for (let i = 0; i < mask.length; i++) {
    const share = (mask[i] * faded[i]) / 65025;
    mask[i] = share > 0 ? 255 : 0;
    if (share > 0 && share < 1)
      lightness[i] = luminanceToLightness(1 - share * (1 - lightnessToLuminance(lightness[i])));
  }
}
