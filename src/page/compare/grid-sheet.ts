import { duration, percent } from '../burn/words.ts';
import type { PictureSheet } from '../burn/worker/questions.ts';
import { axisLabel, sayValue } from './axis-words.ts';
import type { BurnedGrid } from './grid-store.ts';

const MOST_PIXELS = 400;

/** A burned grid as one picture; cells that are not there yet are left out with their whole row or column unfinished. */
export function gridSheet(name: string, { plan, cells }: BurnedGrid): PictureSheet {
  const { across, down } = plan;
  const inRows = [...cells].sort((a, b) => a.row - b.row || a.column - b.column);
  return {
    title: name ? `${name}: grid of proofs` : 'Grid of proofs',
    note: `${axisLabel(across.setting)} across, ${axisLabel(down.setting).toLowerCase()} down. Foreburn: predicted, not measured; time is that of the whole picture.`,
    columns: across.values.length,
    mostPixels: MOST_PIXELS,
    pictures: inRows.flatMap(({ answer, column, row }) => {
      if (!answer) return [];
      const { width, height, pitchMm, color, summary } = answer;
      return [
        {
          source: { kind: 'pixels', width, height, pitchMm, color } as const,
          title: sayValue(across.setting, across.values[column]),
          lines: [
            sayValue(down.setting, down.values[row]),
            `${duration(summary.burnTimeS)} · ${summary.lightShare > 0 ? `${percent(summary.unclearedShare)} uncleared` : 'no light areas'}`,
          ],
        },
      ];
    }),
  };
}
