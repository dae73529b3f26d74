/** What the head does at feed between two stops: it must go straight on, or it would stop on the way. */
export class Stretch {
  readonly #slackMm: number;
  /** Places one after another, x and y in turn. */
  #places: number[] = [];

  constructor(stepMm: number) {
    this.#slackMm = 2 * stepMm + 1e-6;
  }

  move(fromX: number, fromY: number, toX: number, toY: number): void {
    if (this.#places.length === 0) this.#places.push(fromX, fromY);
    this.#places.push(toX, toY);
  }

  /** The head has stopped. Says whether it went straight on until then. */
  end(): boolean {
    const places = this.#places;
    if (places.length === 0) return true;
    this.#places = [];
    const [x, y] = places;
    const dx = places[places.length - 2] - x;
    const dy = places[places.length - 1] - y;
    const reach = Math.hypot(dx, dy);
    let furthest = 0;
    for (let i = 2; i < places.length; i += 2) {
      const px = places[i] - x;
      const py = places[i + 1] - y;
      const along = (px * dx + py * dy) / reach;
      const beside = Math.abs(px * dy - py * dx) / reach;
      // Not a number where it ends where it began.
      if (!(beside <= this.#slackMm && along >= furthest - this.#slackMm)) return false;
      furthest = Math.max(furthest, along);
    }
    return true;
  }
}
