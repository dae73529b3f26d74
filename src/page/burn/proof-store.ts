import { create } from 'zustand';
import { useShallow } from 'zustand/react/shallow';
import type { Piece } from '../../piece/schema.ts';
import type { ProofSurface } from '../../render/slab/surface/gpu-surface.ts';
import type { Diagnosis } from '../../studies/diagnose/diagnose.ts';
import type { HowSure } from '../../studies/sure/how-sure.ts';
import type { ProbeReading, ProofResult } from './worker/questions.ts';

/** A proof on the table: derived from a piece, never saved. Swaths are held by reference; `surface.version` tells React. */
export interface ProofRecord {
  readonly id: string;
  readonly piece: Piece;
  readonly photoKey: string;
  /** The quick look; stands in until the full one is there. */
  readonly coarse: ProofSurface | null;
  /** Until there is something of its own, the last one may stand in, under its own id. */
  readonly full: ProofSurface | null;
  readonly result: ProofResult | null;
  /** How sure it is, and with it the numbers that are told; comes a moment after the result. */
  readonly sure: HowSure | null;
  /** What will go wrong with it; comes last. */
  readonly diagnosis: Diagnosis | null;
  /** Waiting: nobody has asked for it since the page was loaded, or it was only put aside; numbers may be known from before. */
  readonly status: 'computing' | 'done' | 'failed' | 'stopped' | 'waiting';
  readonly fault: string | null;
}

/** A proof of which nothing is known yet. */
export const freshRecord = (
  id: string,
  piece: Piece,
  photoKey: string,
  status: 'computing' | 'waiting',
): ProofRecord => ({
  id,
  piece,
  photoKey,
  coarse: null,
  full: null,
  result: null,
  sure: null,
  diagnosis: null,
  status,
  fault: null,
});

export interface PinnedProof {
  readonly id: string;
  readonly name: string;
  readonly thumbnail: string;
  readonly record: ProofRecord;
}

/** Something to do about a message, on a button. */
export interface Offer {
  readonly label: string;
  readonly onPress: () => void;
}

type NoticeText = string | { readonly text: string; readonly offers: readonly Offer[] };

interface ProofState {
  readonly current: ProofRecord | null;
  /** The whole slab before anything is burned; the last one stays until there is a new one. */
  readonly ground: ProofSurface | null;
  readonly pins: readonly PinnedProof[];
  /** How far the current proof is, 0–1, and with what; apart from it, because it changes all the time. */
  readonly progress: { readonly share: number; readonly stage: string };
  /** The pin that is being made once more, and how far it is, 0–1. */
  readonly repeating: { readonly id: string; readonly share: number } | null;
  /** What is shown: one id, or two with the wipe between them; `NOW` is the current proof, none means it too. */
  readonly picked: readonly string[];
  readonly probe: {
    readonly xMm: number;
    readonly yMm: number;
    readonly side: 'left' | 'right';
    readonly reading: ProbeReading | null;
  } | null;
  /** Last message for the maker: something that could not be done. */
  readonly notice: NoticeText | null;
}

/** Stands for the current proof among the ids that are picked. */
export const NOW = 'now';

export const useProofStore = create<ProofState>()(() => ({
  current: null,
  ground: null,
  pins: [],
  progress: { share: 0, stage: '' },
  repeating: null,
  picked: [],
  probe: null,
  notice: null,
}));

export const setProof = useProofStore.setState;

/** Edits the current proof, if it still is the one with that id, on the bar too. */
export function editCurrent(id: string, edit: (record: ProofRecord) => ProofRecord): void {
  setProof((state) => {
    if (state.current?.id !== id) return state;
    const record = edit(state.current);
    if (!state.pins.some((pin) => pin.record.id === id)) return { current: record };
    return { current: record, pins: state.pins.map((pin) => (pin.record.id === id ? { ...pin, record } : pin)) };
  });
}

/** The records to show left and right of the wipe; right is null without one. */
function shownRecords(state: ProofState): { left: ProofRecord | null; right: ProofRecord | null } {
  const find = (id: string): ProofRecord | null =>
    id === NOW ? state.current : (state.pins.find((pin) => pin.id === id)?.record ?? null);
  const [left, right] = state.picked.map(find);
  return { left: left ?? state.current, right: right ?? null };
}

/** The same as a hook: renders again only when one of the two changes. */
export const useShown = () => useProofStore(useShallow(shownRecords));

/** Picks an id or lets go of it; of three the one picked first goes. */
export function togglePicked(id: string): void {
  setProof(({ picked }) => ({
    picked: picked.includes(id) ? picked.filter((one) => one !== id) : [...picked, id].slice(-2),
  }));
}

/**
 * What is to be drawn of a record by now. The view shows the quick look until all of the full one is on the graphics card, but
 * takes its swaths as they come.
 */
export const surfaceOf = (record: ProofRecord | null): ProofSurface | null =>
  record ? (record.full && (record.full.swaths.length > 0 || record.full.lying) ? record.full : record.coarse) : null;

/** Whether a proof is done and all its cells are here, not only on the graphics card. */
export const isWhole = ({ id, status, full }: ProofRecord): boolean =>
  status === 'done' && full?.id === id && full.swaths.reduce((sum, { rows }) => sum + rows, 0) === full.height;

/**
 * The numbers of a proof as they are told everywhere: the middle of all likely cases. A pin that was made before those were tried has what its
 * film gives; the proof on the table waits for them (`isJudged`), so that no number jumps.
 */
export function likelyNumbers({ result, sure }: Pick<ProofRecord, 'result' | 'sure'>) {
  if (!result) return null;
  const { summary } = result;
  return {
    unclearedShare: sure?.uncleared?.middle ?? summary.unclearedShare,
    scorchedShare: sure?.scorched.middle ?? summary.scorchedShare,
    residueUm: sure?.residueUm?.middle ?? summary.meanResidueUm,
  };
}

/** Whether the proof on the table has its numbers. */
export const isJudged = ({ sure }: Pick<ProofRecord, 'sure'>): boolean => sure !== null;

/** Numbers as the page says them. */
export function percent(share: number): string {
  const value = 100 * share;
  if (value > 0 && value < 0.1) return 'under 0.1 %';
  return `${value.toFixed(value >= 99.95 || value === 0 ? 0 : 1)} %`;
}

export function duration(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  if (minutes < 1) return `${Math.round(seconds)} s`;
  const hours = Math.floor(minutes / 60);
  return hours > 0 ? `${hours} h ${String(minutes - 60 * hours).padStart(2, '0')} min` : `${minutes} min`;
}

export const powers = (light: number, dark: number): string => `${trim(100 * light)} / ${trim(100 * dark)} %`;

const trim = (value: number): string => String(Math.round(10 * value) / 10);
