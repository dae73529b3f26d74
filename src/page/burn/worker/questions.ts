import type { Point } from '../../../base/geometry/outline.ts';
import type { RgbaPhoto } from '../../../base/geometry/rgba-photo.ts';
import type { Answerer as AnswererOf } from '../../../base/remote/remote.ts';
import type { FittedTones } from '../../../burn/fit-tones.ts';
import type { Crop, ProofSummary } from '../../../burn/proof.ts';
import type { LadderRung } from '../../../outputs/paper/bench-sheet.ts';
import type { MachineFile } from '../../../outputs/program/machine-file.ts';
import type { JobRefusal } from '../../../outputs/program/refusals.ts';
import type { BrokeOff, PauseEffect, TakeUp } from '../../../outputs/program/take-up.ts';
import type { Pause } from '../../../physics/heat/warmth.ts';
import type { PassCourse, PassTime } from '../../../physics/raster/pass-time.ts';
import type { Piece } from '../../../piece/schema.ts';
import type { SurfacePlanes } from '../../../render/slab/surface/planes.ts';
import type { Wishes } from '../../../studies/choose/odds.ts';
import type { ChooseResult } from '../../../studies/choose/settings.ts';
import type { Diagnosis } from '../../../studies/diagnose/diagnose.ts';
import type { ScreenPatch } from '../../../studies/grid/screen-patches.ts';
import type { RescueProposal, RescueWishes } from '../../../studies/rescue/propose.ts';
import type { BurnedPhoto, BurnedReading } from '../../../studies/rescue/read-burned.ts';
import type { Band, HowSure } from '../../../studies/sure/how-sure.ts';
import type { StripAnswer, StripLesson, StripProof } from '../../../studies/test-strip/learn-from-strip.ts';
import type { StripOrder } from '../../../studies/test-strip/strip-piece.ts';
import type { LinedUp } from '../../../vision/burned/line-up.ts';
import type { ScrapJobAnswer } from './scrap-job.ts';

/** What lies under the pointer. */
export interface ProbeReading {
  readonly residueUm: readonly number[];
  readonly woodDepthUm: number;
  readonly excessJPerMm2: number;
  readonly colorSrgb: readonly [number, number, number];
}

/** Name of the drawing that goes with a bed's programs. */
export const DRAWING = 'drawing.svg';

export type PictureKind = 'proof' | 'uncleared';

export type TonesAnswer = FittedTones & {
  /** Places of the photo by the lightness that is wished for them, in even bins from black to white. */
  readonly histogram: readonly number[];
  /** The photo, small: the same lightness, 0–255. */
  readonly small: { readonly width: number; readonly height: number; readonly lightness: Uint8Array };
};

/** A picture without dots, as the quick look has it. */
export interface QuickLook {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly swath: WireSwath;
}

/** A burned part of a picture. */
export interface CropAnswer {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** RGBA8, sRGB; alpha 255 where uncleared. */
  readonly color: Uint8Array;
  /** Time and rows are the whole picture's, all else the crop's. */
  readonly summary: ProofSummary;
}

/** A proof made once more, all at once. */
interface RepeatAnswer {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly swaths: readonly WireSwath[];
  /** Its quick look. */
  readonly coarse: {
    readonly width: number;
    readonly height: number;
    readonly pitchMm: number;
    readonly swath: WireSwath;
  };
  readonly result: ProofResult;
  readonly diagnosis: Diagnosis;
  readonly sure: HowSure;
}

/** A picture on a sheet: a proof that the worker keeps, or pixels (RGBA8, sRGB) of cells of a size. */
export type SheetSource =
  | { readonly kind: 'proof'; readonly id: string }
  | {
      readonly kind: 'pixels';
      readonly width: number;
      readonly height: number;
      readonly pitchMm: number;
      readonly color: Uint8Array;
    };

interface SheetPicture {
  readonly source: SheetSource;
  readonly title: string;
  readonly lines: readonly string[];
}

/** Pictures side by side at one scale. */
export interface PictureSheet {
  readonly title: string;
  readonly note: string;
  readonly columns: number;
  /** Most pixels along the longer side of a picture. */
  readonly mostPixels: number;
  readonly pictures: readonly SheetPicture[];
}

export type MachineFileAnswer =
  | { readonly refusals: readonly JobRefusal[] }
  | {
      /** Null where it went to the handle. */
      readonly blob: Blob | null;
      readonly bytes: number;
      /** Hexadecimal. */
      readonly sha256: string;
      /** How long the machine works on it, s. */
      readonly timeS: number | null;
      readonly cautions: readonly string[];
    };

export type TestStripAnswer = Omit<StripProof, 'color'> & {
  /** Size of the scrap. */
  readonly widthMm: number;
  readonly heightMm: number;
  /** As it will look, PNG, and the strip as a `.foreburn` file. */
  readonly picture: Uint8Array;
  readonly file: Uint8Array;
};

/** Everything the page may ask the proof worker: what goes there, what comes back. Each has a file in `answers`. */
export interface Questions {
  /** Opens a photograph; the page chooses its key. */
  readonly photo: {
    readonly asks: { readonly key: string; readonly bytes: Uint8Array };
    readonly gets: { readonly width: number; readonly height: number };
  };
  /** The newest proof, part by part; what is under way for one before it is given up. */
  readonly proof: {
    readonly asks: { readonly id: string; readonly piece: Piece; readonly photoKey: string };
    readonly gets: null;
    readonly parts: ProofPart;
  };
  /** Lets go of what is kept of a proof. */
  readonly forget: { readonly asks: { readonly id: string }; readonly gets: null };
  readonly 'forget-photo': { readonly asks: { readonly key: string }; readonly gets: null };
  /** A place of a proof's picture, mm from its left top corner; null off it. */
  readonly probe: {
    readonly asks: { readonly id: string; readonly xMm: number; readonly yMm: number };
    readonly gets: ProbeReading | null;
  };
  /** A proof, or its map of uncleared places, as PNG. */
  readonly picture: { readonly asks: { readonly id: string; readonly which: PictureKind }; readonly gets: Uint8Array };
  /** The picture as the machine gets it, as PNG. */
  readonly prepared: { readonly asks: { readonly piece: Piece; readonly photoKey: string }; readonly gets: Uint8Array };
  /** A part of the picture burned as a proof of all of it would. */
  readonly crop: {
    readonly asks: { readonly piece: Piece; readonly photoKey: string; readonly crop: Crop };
    readonly gets: CropAnswer;
  };
  /** A proof made once more under its id, after which the worker keeps it as it does the newest one. `bare`: its swaths stay in the worker. */
  readonly repeat: {
    readonly asks: { readonly id: string; readonly piece: Piece; readonly photoKey: string; readonly bare: boolean };
    readonly gets: RepeatAnswer;
  };
  /** Proofs or parts of them side by side, with captions, as PNG. */
  readonly 'picture-sheet': { readonly asks: PictureSheet; readonly gets: Uint8Array };
  /** Where a crop of a size tells most: lightest and darkest tones of the picture side by side. */
  readonly 'telling-crop': {
    readonly asks: {
      readonly piece: Piece;
      readonly photoKey: string;
      readonly widthMm: number;
      readonly heightMm: number;
    };
    readonly gets: Crop;
  };
  /** Quick looks at the picture as it comes out at the ends of what is likely. */
  readonly 'likely-ends': {
    readonly asks: { readonly piece: Piece; readonly photoKey: string };
    readonly gets: { readonly lighter: QuickLook; readonly darker: QuickLook };
  };
  /** When each row is burned, and the surfaces that all passes but the last leave. */
  readonly 'burn-course': {
    readonly asks: { readonly piece: Piece; readonly photoKey: string };
    readonly gets: {
      readonly courses: readonly PassCourse[];
      readonly between: readonly {
        readonly width: number;
        readonly height: number;
        readonly pitchMm: number;
        readonly swaths: readonly WireSwath[];
      }[];
    };
  };
  /** What a stop in a pass does to the heat and to what stays uncleared. */
  readonly pause: {
    readonly asks: { readonly piece: Piece; readonly photoKey: string; readonly pass: number; readonly pause: Pause };
    readonly gets: PauseEffect;
  };
  /** Where a burn that broke off is taken up from, and what the pause does. */
  readonly 'take-up': {
    readonly asks: {
      readonly piece: Piece;
      readonly photoKey: string;
      readonly pass: number;
      readonly at: BrokeOff;
      readonly pauseS: number;
    };
    readonly gets: TakeUp | { readonly refusals: readonly JobRefusal[] };
  };
  /** Uncleared share of the light areas as it may come out for each of some pieces; null without light areas. */
  readonly bands: {
    readonly asks: { readonly pieces: readonly Piece[]; readonly photoKey: string };
    readonly gets: readonly (Band | null)[];
  };
  /** Powers to try on scrap before the first pass. */
  readonly ladder: {
    readonly asks: { readonly piece: Piece; readonly photoKey: string };
    readonly gets: readonly LadderRung[];
  };
  /** How long the machine burns for each option of the piece's quote, s. */
  readonly 'option-seconds': {
    readonly asks: { readonly piece: Piece; readonly photoKey: string };
    readonly gets: readonly number[];
  };
  /** A file for the machine, written to where the handle says or handed back. */
  readonly 'machine-file': {
    readonly asks: {
      readonly piece: Piece;
      readonly photoKey: string;
      readonly file: MachineFile;
      readonly handle: FileSystemFileHandle | null;
    };
    readonly gets: MachineFileAnswer;
  };
  /** All programs of a bed as parts, and what to do with them; nothing more where one cannot be made. */
  readonly plate: {
    readonly asks: {
      readonly slabs: readonly {
        readonly name: string;
        /** As it lies there. */
        readonly piece: Piece;
        readonly photo: Blob;
        readonly photoSize: { readonly width: number; readonly height: number };
      }[];
      /** One program for all that burns. */
      readonly together: boolean;
    };
    readonly gets: { readonly words: string } | { readonly refusals: readonly JobRefusal[] };
    readonly parts: { readonly name: string; readonly blob: Blob };
  };
  /** Settings that work, a handful of trade-offs; what is known so far comes as parts. */
  readonly choose: {
    readonly asks: { readonly piece: Piece; readonly photoKey: string; readonly wishes: Wishes };
    readonly gets: ChooseResult;
    readonly parts: ChooseResult;
  };
  /** The same part of the picture burned with each screen in one pass's place, as parts. */
  readonly 'screen-patches': {
    readonly asks: { readonly piece: Piece; readonly pass: number; readonly photoKey: string };
    readonly gets: null;
    readonly parts: ScreenPatch;
  };
  /** Tones fitted to the piece's own stack and passes. */
  readonly tones: {
    readonly asks: { readonly piece: Piece; readonly photoKey: string };
    readonly gets: TonesAnswer;
  };
  /** Where the slab lies in a photograph of it as it came out; null if it is not told there. `near`: corners laid roughly. */
  readonly 'burned-corners': {
    readonly asks: {
      readonly piece: Piece;
      readonly photoKey: string;
      readonly burned: RgbaPhoto;
      readonly near: readonly Point[] | null;
    };
    readonly gets: LinedUp | null;
  };
  /** The piece corrected by a photograph of it as it came out. */
  readonly 'burned-reading': {
    readonly asks: { readonly piece: Piece; readonly photoKey: string; readonly burned: BurnedPhoto };
    readonly gets: BurnedReading;
  };
  /** A test strip: what its bands come out as, and the strip as a piece to burn. */
  readonly 'test-strip': {
    readonly asks: { readonly piece: Piece; readonly photoKey: string; readonly order: StripOrder };
    readonly gets: TestStripAnswer;
  };
  /** All that burning the strip takes, as an archive. */
  readonly 'strip-job': {
    readonly asks: { readonly piece: Piece; readonly photoKey: string; readonly order: StripOrder };
    readonly gets: ScrapJobAnswer;
  };
  /** The piece with what a burned test strip showed. */
  readonly 'strip-lesson': {
    readonly asks: {
      readonly piece: Piece;
      readonly photoKey: string;
      readonly order: StripOrder;
      readonly answer: StripAnswer;
    };
    readonly gets: StripLesson;
  };
  /** The pass that saves a piece whose passes so far are burned. */
  readonly rescue: {
    readonly asks: { readonly piece: Piece; readonly photoKey: string; readonly wishes: RescueWishes };
    readonly gets: RescueProposal;
  };
}

export type QuestionName = keyof Questions;

export interface WireSwath {
  readonly y0: number;
  readonly rows: number;
  readonly color: Uint8Array;
  readonly relief: Uint16Array;
}

export interface ProofResult {
  readonly summary: ProofSummary;
  readonly passes: readonly PassTime[];
  readonly direction: 'lightens' | 'darkens';
  readonly backend: string;
  readonly stagesMs: Readonly<Record<string, number>>;
}

/** What is known of a proof on the way to all of it. */
export type ProofPart =
  /** The quick look, and the time it took the worker. */
  | {
      readonly kind: 'coarse';
      readonly width: number;
      readonly height: number;
      readonly pitchMm: number;
      readonly swath: WireSwath;
      readonly tookMs: number;
    }
  /** Strips of this size follow. */
  | { readonly kind: 'started'; readonly width: number; readonly height: number; readonly pitchMm: number }
  | { readonly kind: 'swath'; readonly swath: WireSwath }
  /** All of it as the graphics card has it; strips follow when there is time. */
  | { readonly kind: 'lying'; readonly planes: SurfacePlanes; readonly opensWood: boolean }
  | { readonly kind: 'done'; readonly result: ProofResult }
  | { readonly kind: 'sure'; readonly sure: HowSure }
  | { readonly kind: 'diagnosed'; readonly diagnosis: Diagnosis; readonly tookMs: number }
  | {
      readonly kind: 'ground';
      readonly key: string;
      readonly width: number;
      readonly height: number;
      readonly pitchMm: number;
      readonly swaths: readonly WireSwath[];
    };

/** What answers a question of the page's. */
export type Answerer<Name extends QuestionName> = AnswererOf<Questions, Name>;
