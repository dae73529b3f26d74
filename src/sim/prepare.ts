import { Cancelled } from '../core/cancelled.ts';
import type { Picture, ToneImage } from '../core/image/picture.ts';
import { resamplePicture } from '../core/image/resample.ts';
import { rotatePicture } from '../core/image/rotate.ts';
import { screenTone } from '../core/image/screens/screen-tone.ts';
import { adjustTone } from '../core/image/tone.ts';
import { pictureFrame, turnOf, uprightHeightMm } from '../core/piece/frame.ts';
import type { Pass, Piece, Tone } from '../core/piece/schema.ts';
import { orientToRaster } from '../core/raster/orient.ts';
import { createPassRaster } from '../core/raster/pass-raster.ts';
import { findSpans } from '../core/raster/spans.ts';
import { createMemo } from './memo.ts';
import { outsideMask } from './outside-mask.ts';
import type { ScreenedPass } from './windows.ts';

/** A decoded photograph with a name that changes whenever its pixels do. */
export interface Photo {
  readonly key: string;
  readonly picture: Picture;
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

/** The stages before the burn, each kept by what it depends on, so that a change of power does none of them again. */
export function createPreparation(shouldStop: () => boolean = () => false): Preparation {
  const resampled = createMemo<Picture>(3);
  const toned = createMemo<ToneImage>(4);
  const screened = createMemo<Omit<ScreenedPass, 'spans'>>(4);
  const goOn = () => {
    if (shouldStop()) throw new Cancelled();
  };

  function tone(photo: Photo, piece: Piece, pitchMm: number, settings: Tone): ToneImage {
    const { width, height } = pictureDots(piece, photo.picture, pitchMm);
    const { crop, offsetXMm, offsetYMm, rotationRad: turn } = piece.picture;
    const { shape, widthMm, heightMm, outlineMm } = piece.slab;
    const key = [
      photo.key,
      width,
      height,
      turn,
      piece.picture.widthMm,
      pitchMm,
      crop,
      offsetXMm,
      offsetYMm,
      shape,
      widthMm,
      heightMm,
      outlineMm,
    ];
    return toned(JSON.stringify([key, settings]), () => {
      goOn();
      const { widthMm: wide, rotationRad } = piece.picture;
      const placed = `${photo.key} ${wide} ${pitchMm} ${rotationRad}`;
      const picture = resampled(placed, () => placedPicture(piece, photo.picture, pitchMm));
      goOn();
      const image = adjustTone(picture, settings, pitchMm);
      const outside = outsideMask(piece, photo.picture, width, height, pitchMm);
      for (let i = 0; i < outside.length; i++) if (outside[i] === 0) image.mask[i] = 0;
      return image;
    });
  }

  function screen(photo: Photo, piece: Piece, pass: Pass, fires: (level: number) => boolean): ScreenedPass {
    const image = tone(photo, piece, pass.rowPitchMm, pass.tone ?? piece.picture.tone);
    const { crop, offsetXMm, offsetYMm } = piece.picture;
    const { shape, widthMm, heightMm, outlineMm } = piece.slab;
    const key = [photo.key, image.width, image.height, pass.rowPitchMm, pass.headingRad, pass.screen, pass.serpentine];
    const where = [
      piece.picture.widthMm,
      piece.picture.rotationRad,
      crop,
      offsetXMm,
      offsetYMm,
      shape,
      widthMm,
      heightMm,
      outlineMm,
      pass.tone ?? piece.picture.tone,
    ];
    const result = screened(JSON.stringify([key, where]), () => {
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
    const { raster, levels, mask } = result;
    return { ...result, spans: findSpans(levels, mask, raster.columns, raster.rows, fires, pass.rows === 'two-way') };
  }

  return { tone, screen };
}
