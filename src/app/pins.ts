import { forget } from './proof-client.ts';
import { type ProofRecord, setProof, useProofStore } from './stores/proof-store.ts';

/** Each pinned proof keeps its pictures in memory. */
const MOST_PINS = 6;
const THUMBNAIL_PIXELS = 96;

let pinned = 0;

/** Keeps the current proof on the strip. */
export async function pinCurrent(): Promise<void> {
  const { current, pins } = useProofStore.getState();
  if (!current || pins.some((pin) => pin.record.id === current.id)) return;
  if (pins.length >= MOST_PINS) {
    setProof({ notice: `The strip holds ${MOST_PINS} proofs; take one off first.` });
    return;
  }
  pinned++;
  const pin = { id: `pin-${pinned}`, name: `Proof ${pinned}`, thumbnail: thumbnailOf(current), record: current };
  setProof((state) => ({ pins: [...state.pins, pin] }));
}

export function unpin(id: string): void {
  const { pins, current } = useProofStore.getState();
  const pin = pins.find((one) => one.id === id);
  setProof((state) => ({
    pins: state.pins.filter((one) => one.id !== id),
    picked: state.picked.filter((one) => one !== id),
  }));
  if (pin && pin.record.id !== current?.id) forget(pin.record.id);
}

/** A small picture from the quick look: it has the right size already. */
function thumbnailOf(record: ProofRecord): string {
  const surface = record.coarse;
  if (!surface) return '';
  const { width, height, strips } = surface;
  const scale = THUMBNAIL_PIXELS / Math.max(width, height);
  const canvas = document.createElement('canvas');
  canvas.width = Math.max(1, Math.round(width * scale));
  canvas.height = Math.max(1, Math.round(height * scale));
  const context = canvas.getContext('2d');
  if (!context) return '';
  const image = context.createImageData(canvas.width, canvas.height);
  const { color } = strips[0];
  for (let y = 0; y < canvas.height; y++) {
    for (let x = 0; x < canvas.width; x++) {
      const from = 4 * (Math.floor(y / scale) * width + Math.floor(x / scale));
      const to = 4 * (y * canvas.width + x);
      image.data.set(color.subarray(from, from + 3), to);
      image.data[to + 3] = 255;
    }
  }
  context.putImageData(image, 0, 0);
  return canvas.toDataURL('image/png');
}
