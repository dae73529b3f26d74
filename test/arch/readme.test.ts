import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { COMMANDS, commandHelp } from '../../src/cli/run.ts';

const root = resolve(import.meta.dirname, '../..');
const read = (name: string): string => readFileSync(join(root, name), 'utf8');
const scripts: Record<string, string> = JSON.parse(read('package.json')).scripts;

describe('README and DEVELOPERS', () => {
  test.each(['README.md', 'DEVELOPERS.md'])('every npm script that %s names exists', (file) => {
    const named = [...read(file).matchAll(/npm (?:run (?:--silent )?([\w:-]+)|(start|test)\b)/g)].map(
      (match) => match[1] ?? match[2],
    );
    expect(named.length).toBeGreaterThan(0);
    for (const name of named) expect(Object.keys(scripts)).toContain(name);
  });

  test('the README documents every command and option of the command line', () => {
    const readme = read('README.md');
    for (const command of COMMANDS) {
      expect(readme).toContain(command.name);
      for (const { name } of command.options) expect(readme, `${command.name} --${name}`).toContain(`--${name}`);
    }
  });

  test('every file that DEVELOPERS.md names in code marks exists', async () => {
    const { existsSync } = await import('node:fs');
    const named = [...read('DEVELOPERS.md').matchAll(/`((?:src|test|shaders|public)\/[\w./-]+)`/g)].map(
      (match) => match[1],
    );
    expect(named.length).toBeGreaterThan(5);
    for (const name of named) expect(existsSync(join(root, name)), name).toBe(true);
  });

  test('CI runs the README’s test command', () => {
    expect(read('README.md')).toContain('npm ci && npm test');
    expect(read('.ci/run')).toContain('npm ci');
    expect(read('.ci/run')).toContain('npm test');
  });

  test('the help names every option', () => {
    for (const command of COMMANDS) {
      for (const { name } of command.options) expect(commandHelp(command)).toContain(`--${name}`);
    }
  });
});
