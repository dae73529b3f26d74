/** A program that does not hold what it promises. The message names the line. */
export class ProgramFault extends Error {
  constructor(line: number, why: string) {
    super(`line ${line}: ${why}`);
    this.name = 'ProgramFault';
  }
}
