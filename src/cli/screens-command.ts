import { SCREENS } from '../image/screens/screen-tone.ts';
import type { Command } from './io.ts';

export const SCREENS_COMMAND: Command = {
  name: 'screens',
  operands: '',
  summary: 'List the screens that turn tones into dots.',
  options: [{ name: 'json', help: 'as JSON' }],
  async run(_operands, values, io) {
    if (values['json']) {
      io.out(`${JSON.stringify(SCREENS, null, 2)}\n`);
      return;
    }
    for (const { method, look, title, note } of SCREENS) {
      io.out(`${method.padEnd(22)}${look}: ${title}\n${' '.repeat(22)}${note}\n`);
    }
  },
};
