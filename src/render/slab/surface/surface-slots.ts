import { CELLS_PER_DRAW, GpuSurface, type ProofSurface, SurfacePasses } from './gpu-surface.ts';

export type Side = 'left' | 'right';
/** Where a surface can be: on a side of the wipe, or under and around both. */
type SlotName = Side | 'ground';

/** In the order in which they are sent: the ground is small and seen at once. */
const SLOT_NAMES: readonly SlotName[] = ['ground', 'left', 'right'];

interface Slot {
  shown: GpuSurface | null;
  coming: GpuSurface | null;
}

/** Time per animation frame spent on sending swaths, ms. */
const BUDGET_MS = 8;
/** A piece is about 2 MB: more at once would wait for the driver's buffers. */
const MOST_PIECES = 4;
/** Most cells drawn per animation frame. */
const MOST_DRAWN = 1 << 28;

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
  private readonly passes: SurfacePasses;
  private frame = 0;
  private fence: WebGLSync | null = null;
  /** Cells that may be drawn before the card is asked whether it is done, and those drawn last time: it shows how many it takes in a frame. */
  private allowed = CELLS_PER_DRAW;
  private drawn = 0;

  private readonly gl: WebGL2RenderingContext;
  private readonly onShown: (name: SlotName, surface: GpuSurface | null) => void;
  /** Just before a finished proof takes the place of its quick look. */
  private readonly onRefined: () => void;

  constructor(
    gl: WebGL2RenderingContext,
    onShown: (name: SlotName, surface: GpuSurface | null) => void,
    onRefined: () => void,
  ) {
    this.gl = gl;
    this.passes = new SurfacePasses(gl);
    this.onShown = onShown;
    this.onRefined = onRefined;
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
    if (slot.coming?.lies) this.finish(slot.coming);
    this.settle();
    this.pump();
  }

  private make(surface: ProofSurface, dotted: boolean): GpuSurface {
    return new GpuSurface(surface, this.gl, this.passes, dotted);
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
      if (slot.shown && slot.coming.refines(slot.shown)) this.onRefined();
      this.replace(slot, slot.coming, null);
      this.onShown(name, slot.shown);
    }
  }

  private finish(surface: GpuSurface): void {
    if (this.gl.isContextLost()) return;
    do surface.advance();
    while (surface.lies && surface.hasWork);
  }

  private pump(): void {
    if (this.frame || !this.busy) return;
    this.frame = requestAnimationFrame(() => {
      this.frame = 0;
      const { gl } = this;
      if (gl.isContextLost()) return;
      // Give the graphics card more only when it is done with the last piece, or calls would block the page.
      if (this.fence && gl.getSyncParameter(this.fence, gl.SYNC_STATUS) !== gl.SIGNALED) {
        if (this.drawn > 0) this.allowed = Math.max(CELLS_PER_DRAW, this.allowed / 2);
        this.drawn = 0;
        this.pump();
        return;
      }
      if (this.drawn >= this.allowed) this.allowed = Math.min(MOST_DRAWN, 2 * this.drawn);
      this.drawn = 0;
      const end = performance.now() + BUDGET_MS;
      let working = this.all().find((surface) => surface.hasWork);
      for (let pieces = 1; working; pieces++) {
        this.drawn += working.drawing;
        working.advance();
        working = this.all().find((surface) => surface.hasWork);
        const next = working?.drawing ?? 0;
        if (next > 0 ? this.drawn + next > this.allowed : pieces >= MOST_PIECES || performance.now() > end) break;
      }
      gl.deleteSync(this.fence);
      this.fence = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
      gl.flush();
      this.settle();
      this.pump();
    });
  }

  dispose(): void {
    cancelAnimationFrame(this.frame);
    for (const surface of this.all()) surface.dispose();
    this.passes.dispose();
    this.gl.deleteSync(this.fence);
  }
}
