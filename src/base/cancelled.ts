/** Thrown when a hook of a long computation answers `false`: the caller has asked it to stop. Not a fault. */
export class Cancelled extends Error {
  constructor() {
    super('cancelled');
    this.name = 'Cancelled';
  }
}
