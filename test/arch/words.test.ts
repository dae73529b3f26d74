import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';

const SRC = resolve(import.meta.dirname, '../../src');

/** Rooms whose words people read, on the page, on paper or in a terminal. */
const ROOMS = ['base', 'piece', 'image', 'physics', 'vision/card', 'studies', 'render', 'outputs', 'page', 'cli'];

/** What was said before, and what is said instead: one word per thing, and words of the trade. */
const REPLACED: readonly [RegExp, string][] = [
  [/\b[Uu]ntold\b/, 'not measured'],
  [/\b[Tt]ells?\b|\b[Tt]old\b/, 'show, say, know, measure'],
  [/\b[Cc]entre\b(?!,)/, 'middle'],
  [/\b[Ss]hall\b/, 'is to'],
  [/\bphotos?\b (?![.-])/, 'photograph'],
  [/\bUncleared\b|stay uncleared|stays uncleared|% uncleared/, 'left dark'],
  [/\bdrying cracks?\b|\bopen cracks?\b|\bOpen cracks?\b/, 'check'],
  [/\b(one|each|more) layers?\b|\bEach layer\b/, 'application, coat'],
  [/Put away|Take over|Put in place of/, 'Dismiss; Use this …; Replace it'],
  [/Burn the grid|Burning patches|Burning the grid/, 'Compute …: computing is never burning'],
  [/[Bb]eam word|Words at the start|Air over the work|long infrared/, 'Laser-on code; Lines at the start; Air assist'],
  [/smoke and chips|water at hand|no vinyl/, 'debris; extinguisher; no PVC'],
  [/Row heading|Walk first|Save the walk/, 'Row direction; lap'],
  [/[Cc]rispen|opens more of the coat/, 'sharpen; takes off more'],
  [/\bas usual\b|did not come to rest|\bfor sure\b/, 'not known; settle; clear'],
  [/\bExposure\b|\bGamma\b|Unsharp mask|\bContrast\b/, 'Lighter or darker; Middle tones; Sharpening; Steepness'],
  [/Colour cast|Local contrast|Dust and scratches/, 'Yellowing; Flat areas; Specks and creases'],
  [/^Raster$/, 'One direction'],
  [/Machine, an hour|A word to the client|Handwork, an hour/, 'per hour; Note to the client'],
  [/[Nn]umber of a parameter|proof strip/, 'bar of proofs'],
];

/** Words in strings, templates and JSX that hold more than a key. */
function shownWords(file: string): string[] {
  const source = readFileSync(file, 'utf8')
    .replace(/\/\*[\s\S]*?\*\//g, '')
    .replace(/^\s*\/\/.*$/gm, '')
    .replace(/^import .*$/gm, '');
  const pattern =
    /'((?:[^'\\\n]|\\.)*)'|`((?:[^`\\]|\\.)*)`|"([^"\n]*)"|>([^<>{}=;]*[A-Za-z][^<>{}=;]*)<|>([A-Z][^<>{}=;()]*)\{|^\s+([A-Z“][^<>{}=;`]*)$/gm;
  return [...source.matchAll(pattern)]
    .map((match) => match.slice(1).find((text) => text !== undefined) ?? '')
    .map((text) => text.replace(/\$\{[^}]*\}/g, '…'))
    .filter((text) => /^[A-Z]/.test(text) || /\w \w/.test(text));
}

describe('what is shown', () => {
  const files = ROOMS.flatMap((room) =>
    readdirSync(join(SRC, room), { recursive: true, encoding: 'utf8' })
      .filter((name) => /\.tsx?$/.test(name))
      .map((name) => join(room, name)),
  );
  const texts = files.flatMap((file) => shownWords(join(SRC, file)).map((text) => ({ file, text })));

  test('is found', () => {
    const all = texts.map(({ text }) => text).join('\n');
    // Of an attribute, of text between tags, of a template and of the schema.
    for (const words of ['Look at the demo', 'Open a photograph…', 'It will likely come out', 'Light-end power']) {
      expect(all).toContain(words);
    }
  });

  test.each(REPLACED)('has none of the words for which there are better ones: %s', (replaced, instead) => {
    const found = texts.filter(({ text }) => replaced.test(text)).map(({ file, text }) => `${file}: ${text}`);
    expect(found, `say instead: ${instead}`).toEqual([]);
  });
});
