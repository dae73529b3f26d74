import { type ComponentType, lazy, Suspense } from 'react';
import { Cancelled } from '../../base/stop.ts';
import { setProof } from '../burn/proof-store.ts';

const failed = new Set<() => void>();

/** A part of the page that is loaded when it is first shown; until then its place is empty. If that failed, it is loaded anew after `renewParts`. */
export function lazyPart<Props extends object>(load: () => Promise<ComponentType<Props>>): ComponentType<Props> {
  const make = () =>
    lazy<ComponentType<Props>>(async () => {
      try {
        return { default: await load() };
      } catch (error) {
        failed.add(renew);
        throw error;
      }
    });
  // React keeps what a lazy component came to, a failure too.
  let Part: ComponentType<Props> = make();
  const renew = () => {
    Part = make();
  };
  return (props) => (
    <Suspense fallback={null}>
      <Part {...props} />
    </Suspense>
  );
}

/** Before what failed is tried again. */
export function renewParts(): void {
  for (const renew of failed) renew();
  failed.clear();
  // The bundler asks for a part's styles once only.
  for (const link of document.querySelectorAll<HTMLLinkElement>('link[rel=stylesheet]')) {
    if (!link.sheet) link.replaceWith(link.cloneNode());
  }
}

const told = new Set<string>();

/** Says once that something went wrong that nobody foresaw, and what to do. What was stopped is no fault. */
function tellFault(fault: unknown): void {
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
