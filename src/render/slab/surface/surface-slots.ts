import type { WebGLRenderer } from 'three';
import { GpuSurface, MomentsPass, type ProofSurface } from './gpu-surface.ts';

export type Side = 'left' | 'right';
/** Where a surface can be: on a side of the wipe, or under and around both. */
export type SlotName = Side | 'ground';

/** In the order in which they are sent: the ground is small and seen at once. */
const SLOT_NAMES: readonly SlotName[] = ['ground', 'left', 'right'];

interface Slot {
  shown: GpuSurface | null;
  coming: GpuSurface | null;
}

/** Time per animation frame spent on sending strips, ms. */
const BUDGET_MS = 8;
/** A piece is about 2 MB: more at once would wait for the driver's buffers. */
const MOST_PIECES = 4;

/**
 * The two sides of the wipe and the unburned ground. A slot keeps showing what it has until the next surface is wholly on the
 * graphics card; slots share a surface if they are given the same one.
 */
export class SurfaceSlots {
  private readonly slots: Record<SlotName, Slot> = {
    ground: { shown: null, coming: null },
    left: { shown: null, coming: null },
    right: { shown: null, coming: null },
  };
  private readonly pass = new MomentsPass();
  private frame = 0;
  private fence: WebGLSync | null = null;
  private disposed = false;

  private readonly renderer: WebGLRenderer;
  private readonly anisotropy: number;
  private readonly onShown: (name: SlotName, surface: GpuSurface | null) => void;

  constructor(
    renderer: WebGLRenderer,
    anisotropy: number,
    onShown: (name: SlotName, surface: GpuSurface | null) => void,
  ) {
    this.renderer = renderer;
    this.anisotropy = anisotropy;
    this.onShown = onShown;
  }

  /** Gives a slot its surface; null clears it at once. */
  set(name: SlotName, surface: ProofSurface | null): void {
    const slot = this.slots[name];
    if (!surface) {
      this.replace(slot, null, null);
      this.onShown(name, null);
      return;
    }
    const known = this.all().find((candidate) => candidate.matches(surface));
    known?.follow(surface);
    if (known && known === slot.shown) this.replace(slot, known, null);
    else this.replace(slot, slot.shown, known ?? this.make(surface, name !== 'ground'));
    this.settle();
    this.pump();
  }

  private make(surface: ProofSurface, dotted: boolean): GpuSurface {
    return new GpuSurface(surface, this.renderer, this.pass, this.anisotropy, dotted);
  }

  /** Whether surfaces are still on their way to the graphics card. */
  get busy(): boolean {
    return this.all().some((surface) => surface.hasWork);
  }

  private all(): GpuSurface[] {
    const found = new Set<GpuSurface>();
    for (const name of SLOT_NAMES) {
      const { shown, coming } = this.slots[name];
      if (shown) found.add(shown);
      if (coming) found.add(coming);
    }
    return [...found];
  }

  private replace(slot: Slot, shown: GpuSurface | null, coming: GpuSurface | null): void {
    const before = this.all();
    slot.shown = shown;
    slot.coming = coming;
    const kept = new Set(this.all());
    for (const surface of before) if (!kept.has(surface)) surface.dispose();
  }

  private settle(): void {
    for (const name of SLOT_NAMES) {
      const slot = this.slots[name];
      if (!slot.coming?.ready) continue;
      this.replace(slot, slot.coming, null);
      this.onShown(name, slot.shown);
    }
  }

  private pump(): void {
    if (this.frame || this.disposed || !this.busy) return;
    this.frame = requestAnimationFrame(() => {
      this.frame = 0;
      const gl = this.renderer.getContext() as WebGL2RenderingContext;
      if (this.disposed || gl.isContextLost()) return;
      // Give the graphics card more only when it is done with the last piece, or calls would block the page.
      if (this.fence && gl.getSyncParameter(this.fence, gl.SYNC_STATUS) !== gl.SIGNALED) {
        this.pump();
        return;
      }
      const end = performance.now() + BUDGET_MS;
      let working = this.all().find((surface) => surface.hasWork);
      const slow = working && !working.sending;
      for (let pieces = 1; working; pieces++) {
        working.advance();
        if (slow || pieces >= MOST_PIECES || performance.now() > end) break;
        working = this.all().find((surface) => surface.hasWork);
      }
      this.renderer.resetState();
      gl.deleteSync(this.fence);
      this.fence = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
      gl.flush();
      this.settle();
      this.pump();
    });
  }

  /** After the graphics context came back: everything shown is sent again from its strips. */
  restore(): void {
    this.pass.forget();
    this.fence = null;
    for (const surface of this.all()) surface.restart();
    for (const name of SLOT_NAMES) {
      const slot = this.slots[name];
      if (!slot.coming && slot.shown) {
        slot.coming = slot.shown;
        slot.shown = null;
      } else if (slot.shown) this.replace(slot, null, slot.coming);
      this.onShown(name, null);
    }
    this.pump();
  }

  dispose(): void {
    this.disposed = true;
    cancelAnimationFrame(this.frame);
    for (const surface of this.all()) surface.dispose();
    this.pass.dispose();
  }
}
