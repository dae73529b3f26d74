import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { expect, test } from 'vitest';
import { BRIEF_CAUTIONS, CAUTION_CLOSE, CAUTIONS } from '../../src/base/cautions.ts';
import { COMMANDS, commandHelp } from '../../src/cli/run.ts';
import { registrationSteps } from '../../src/physics/bed/bed.ts';
import { createPiece } from '../../src/piece/defaults.ts';

const root = resolve(import.meta.dirname, '../..');
const read = (path: string): string => readFileSync(join(root, path), 'utf8');

test('nothing of the text stands anywhere else in the sources', () => {
  const own = /extinguisher|eyewear|respirator|dust mask|chlorin|leave a burn alone/i;
  const files = readdirSync(join(root, 'src'), { recursive: true, encoding: 'utf8' }).filter((name) =>
    /\.tsx?$/.test(name),
  );
  const uncommented = (name: string) => read(`src/${name}`).replace(/\/\*[\s\S]*?\*\/|\/\/.*$/gm, '');
  // What is ticked off at the bench names the things that it is about.
  expect(files.filter((name) => own.test(uncommented(name))).sort()).toEqual([
    'base/cautions.ts',
    'outputs/paper/bench-sheet.ts',
  ]);
});

test('the README has it word for word', () => {
  for (const line of [...CAUTIONS.map((caution) => `- ${caution}`), CAUTION_CLOSE])
    expect(read('README.md')).toContain(line);
});

test('the help of each command that is a step away from a beam ends with it, and of no other', () => {
  const cautioned = COMMANDS.filter((command) =>
    commandHelp(command).endsWith(`\n${[...CAUTIONS, CAUTION_CLOSE].join('\n')}\n`),
  );
  expect(cautioned.map(({ name }) => name).sort()).toEqual(['batch', 'bed', 'card', 'job', 'rescue', 'strip']);
});

test('the way onto the same dots has it', () => {
  expect(registrationSteps(createPiece('test', 'test.png')).at(-1)).toBe(BRIEF_CAUTIONS.join(' '));
});

test('two lines fit into a program’s comments as they are', () => {
  for (const line of BRIEF_CAUTIONS) expect(line).toMatch(/^[A-Za-z0-9 .,:+/-]{1,78}$/);
  expect(BRIEF_CAUTIONS).toHaveLength(2);
});

test('the page has it by every button that saves something for the machine', () => {
  const parts = [
    'outputs/MachineJob',
    'studies/calibrate/CardPart',
    'studies/test-strip/TestStripSection',
    'studies/rescue/RescueSection',
  ];
  for (const part of parts) expect(read(`src/page/${part}.tsx`)).toContain('<BriefCautions />');
});
