import { Cancelled } from '../../base/cancelled.ts';
import { setProof } from '../burn/proof-store.ts';

const told = new Set<string>();

/** Says once that something went wrong that nobody foresaw, and what to do. What was stopped is no fault. */
export function tellFault(fault: unknown): void {
  if (fault instanceof Cancelled) return;
  const reason = fault instanceof Error ? fault.message : String(fault);
  if (told.has(reason)) return;
  told.add(reason);
  setProof({
    notice: `Something went wrong (${reason}). Your piece is as it was. If the page no longer answers, save the piece as a file under Hand over and reload.`,
  });
}

/** Lets something go on that nobody waits for. If it goes wrong the maker hears of it. */
export function inBackground(work: Promise<unknown>): void {
  work.catch(tellFault);
}

/** Browsers report a layout that settles in the next frame as an error of the page. It is none. */
const HARMLESS = /^ResizeObserver loop/;

/** From here on no fault of the page goes unheard. */
export function listenForFaults(): void {
  window.addEventListener('error', ({ error, message }) => {
    if (!HARMLESS.test(message)) tellFault(error ?? message);
  });
  window.addEventListener('unhandledrejection', ({ reason }) => tellFault(reason));
}
