/** Where a burned picture stays for the view: names of textures of its size. */
export interface CardSurface {
  readonly color: string;
  readonly relief: string;
}

export const surfaceOf = (name: string): CardSurface => ({ color: `${name} color`, relief: `${name} relief` });
