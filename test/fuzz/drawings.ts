import type { Dice } from './dice.ts';

/** Drawings as other programs write them, and as nobody should. */
export function randomPath(dice: Dice): string {
  const size = dice.chance(0.85) ? 300 : dice.pick([1e-9, 1e4, 1e6, 1e12, 1e300]);
  const number = (): string => {
    if (dice.chance(0.01)) return dice.pick(['1e999', '-1e308', '0', '.5.5', '-', 'NaN', '1e', '0x10', '∞']);
    return String(Number(((dice.below(2001) - 1000) * (size / 1000)).toPrecision(5)));
  };
  const flag = (): string => dice.pick(['0', '1', dice.chance(0.05) ? '2' : '0']);
  const counts = { M: 2, L: 2, H: 1, V: 1, C: 6, S: 4, Q: 4, T: 2, A: 7, Z: 0 } as const;
  const command = (letter: keyof typeof counts): string => {
    const n = Array.from({ length: counts[letter] }, (_, i) =>
      letter === 'A' && (i === 3 || i === 4) ? flag() : number(),
    );
    return `${dice.chance(0.5) ? letter : letter.toLowerCase()}${n.join(dice.pick([' ', ',', ' , ']))}`;
  };
  const letters = Object.keys(counts) as (keyof typeof counts)[];
  const length = dice.chance(0.02) ? 20_000 : dice.below(30);
  let d = `M${number()} ${number()}`;
  for (let i = 0; i < length; i++) d += command(dice.pick(letters));
  if (dice.chance(0.1)) d += dice.pick([' ', 'z', 'M0 0', '0', ',', 'Q']).repeat(10 ** dice.below(6));
  return dice.chance(0.6) ? `${d}Z` : d;
}

/** A slab's outline that is right: a wavy oval. */
export function soundPath(dice: Dice): string {
  const [rx, ry, waves] = [40 + dice.below(200), 40 + dice.below(200), dice.below(9)];
  const count = 12 + dice.below(200);
  const points = Array.from({ length: count }, (_, i) => {
    const angle = (2 * Math.PI * i) / count;
    const r = 1 + 0.05 * Math.sin(waves * angle);
    return `${(rx * r * Math.cos(angle)).toFixed(3)} ${(ry * r * Math.sin(angle)).toFixed(3)}`;
  });
  return `M${points.join('L')}Z`;
}

export function randomDrawing(dice: Dice): string {
  const d = () => (dice.chance(0.7) ? soundPath(dice) : randomPath(dice));
  const size = dice.pick([
    '',
    'width="300mm" height="240mm"',
    'width="0"',
    'width="1e9in"',
    'width="100%"',
    'width="3"',
  ]);
  const box = dice.pick(['', 'viewBox="0 0 300 240"', 'viewBox="0 0 0 0"', 'viewBox="1 2 3"', 'viewBox="0 0 1e-9 1"']);
  const turn = dice.pick([
    '',
    'transform="rotate(30)"',
    'transform="scale(1e9)"',
    'transform="matrix(1 2 3)"',
    'transform="scale(0)"',
    `transform="${'rotate(1) '.repeat(dice.below(2000))}"`,
  ]);
  const filler = dice.pick([
    '',
    '',
    '',
    '<!-- ',
    '<![CDATA[',
    '<?xml ',
    '<!DOCTYPE svg [',
    '<a b="',
    '<a ',
    '<g>',
    '</g>',
    '<',
  ]);
  const stuffing = filler.repeat(dice.chance(0.1) ? 10 ** (1 + dice.below(4)) : dice.below(3));
  return `<svg ${size} ${box}>${stuffing}<g ${turn}><path d="${d()}"/>${dice.chance(0.3) ? `<path d='${d()}'/>` : ''}</g></svg>`;
}
