import { createCoarsePipeline } from '../burn/coarse.ts';
import { SCREENS, screenOf } from '../image/screens/screen-tone.ts';
import type { ScreenMethod } from '../piece/schema.ts';
import { type ScreenPatch, screenPatches } from '../studies/grid/screen-patches.ts';
import { type Command, createProgress } from './io.ts';
import { BURN_OPTIONS, openJob, PIECE_OPTION } from './open-job.ts';
import { createCliRunner } from './runner.ts';

export const SCREENS_COMMAND: Command = {
  name: 'screens',
  operands: '[PHOTO]',
  summary: 'List the screens that turn tones into dots; with a photograph or a piece also how near each comes.',
  options: [PIECE_OPTION, ...BURN_OPTIONS, { name: 'json', help: 'as JSON' }],
  async run(operands, values, io) {
    const errors = operands.length > 0 || values['piece'] ? await errorsOf() : null;
    if (values['json']) {
      const listed = SCREENS.map((screen) => ({ ...screen, ...(errors && { error: errors.get(screen.method) }) }));
      io.out(`${JSON.stringify(listed, null, 2)}\n`);
      return;
    }
    if (errors) io.out('Off the tones as they are set, in a telling part of the picture seen from 40 cm:\n');
    for (const { method, look, title, note } of SCREENS) {
      const off = errors ? `${errors.get(method)!.rms.toFixed(1)} L* `.padStart(9) : '';
      const left = `${method.padEnd(22)}${off}`;
      io.out(`${left}${look}: ${title}\n${' '.repeat(left.length)}${note}\n`);
    }

    async function errorsOf(): Promise<ReadonlyMap<ScreenMethod, ScreenPatch['error']>> {
      const { piece, photo } = await openJob('screens', operands, values);
      const progress = createProgress(io);
      const runner = createCliRunner();
      const found = new Map<ScreenMethod, ScreenPatch['error']>();
      try {
        await screenPatches(piece, 0, photo, { coarse: createCoarsePipeline(), runner }, ({ method, error }) => {
          found.set(method, error);
          progress.show(found.size / SCREENS.length, screenOf(method).look);
        });
      } finally {
        progress.clear();
        runner.dispose();
      }
      return found;
    }
  },
};
