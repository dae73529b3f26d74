import { useEffect, useRef, useState } from 'react';
import { Button, Menu, MenuItem, MenuTrigger, Popover } from 'react-aria-components';
import { averageColors } from '../../image/average-colors.ts';
import { duration, percent } from '../burn/words.ts';
import { axisLabel, sayValue } from './axis-words.ts';
import type { BurnedGrid, GridCell } from './grid-store.ts';

interface GridCellsProps {
  grid: BurnedGrid;
  onTake: (cell: GridCell) => void;
  onPin: (cell: GridCell) => void;
}

const CAPTION_PX = 26;
const LABEL_PX = 104;
/** Narrowest picture whose caption still has room; what does not fit then is scrolled to. */
const LEAST_PX = 100;
const HEAD_PX = 50;
const GAP_PX = 10;

/** The grid's pictures at one scale, each with its minutes and what stays uncleared. */
export function GridCells({ grid, onTake, onPin }: GridCellsProps) {
  const { across, down, crop } = grid.plan;
  const place = useRef<HTMLDivElement>(null);
  const [room, setRoom] = useState({ width: 900, height: 600 });
  useEffect(() => {
    if (!place.current) return;
    const observer = new ResizeObserver(([entry]) => setRoom(entry.contentRect));
    observer.observe(place.current);
    return () => observer.disconnect();
  }, []);
  const ratio = crop.heightMm / crop.widthMm;
  const fitting = Math.min(
    (room.width - LABEL_PX) / across.values.length - GAP_PX,
    ((room.height - HEAD_PX) / down.values.length - GAP_PX - CAPTION_PX) / ratio,
  );
  const width = Math.floor(Math.min(420, Math.max(LEAST_PX, fitting)));
  return (
    <div className="grid-place" ref={place}>
      <table className="grid-cells" aria-label="Grid of proofs">
        <thead>
          <tr>
            <td className="grid-corner">
              <b>{axisLabel(across.setting)} →</b>
              <b>{axisLabel(down.setting)} ↓</b>
            </td>
            {across.values.map((value) => (
              <th key={value} scope="col" className="grid-head">
                {sayValue(across.setting, value)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {down.values.map((value, row) => (
            <tr key={value}>
              <th scope="row" className="grid-side">
                {sayValue(down.setting, value)}
              </th>
              {across.values.map((other, column) => {
                const cell = grid.cells.find((one) => one.column === column && one.row === row);
                return (
                  <td key={other}>
                    {cell && (
                      <Cell
                        cell={cell}
                        title={`${sayValue(across.setting, other)}, ${sayValue(down.setting, value)}`}
                        width={width}
                        height={Math.round(width * ratio)}
                        onTake={() => onTake(cell)}
                        onPin={() => onPin(cell)}
                      />
                    )}
                  </td>
                );
              })}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** A share in as few letters as a small picture has room for. */
const short = (share: number): string => percent(share).replace('under ', '< ');

interface CellProps {
  cell: GridCell;
  title: string;
  width: number;
  height: number;
  onTake: () => void;
  onPin: () => void;
}

function Cell({ cell, title, width, height, onTake, onPin }: CellProps) {
  const { answer, isNow } = cell;
  const canvas = useRef<HTMLCanvasElement>(null);
  const density = Math.min(2, globalThis.devicePixelRatio || 1);
  const pixels = { width: Math.round(width * density), height: Math.round(height * density) };
  useEffect(() => {
    const context = canvas.current?.getContext('2d');
    if (!answer || !context) return;
    const { color } = answer;
    // Dots are averaged in linear light, as the eye does; the browser would do it on encoded values.
    const rows = { ...answer, row: (y: number) => ({ data: color, at: 4 * y * answer.width }) };
    const drawn = averageColors(rows, pixels.width, pixels.height);
    context.putImageData(new ImageData(drawn, pixels.width, pixels.height), 0, 0);
  }, [answer, pixels.width, pixels.height]);
  if (!answer) return <span className="grid-cell" style={{ width, height: height + CAPTION_PX }} aria-hidden="true" />;
  const { burnTimeS, unclearedShare, lightShare } = answer.summary;
  const uncleared = lightShare > 0 ? percent(unclearedShare) : 'no light areas';
  return (
    <MenuTrigger>
      <Button
        className={`grid-cell${isNow ? ' grid-now' : ''}`}
        style={{ width }}
        aria-label={`${title}${isNow ? ', as it is now' : ''}: ${duration(burnTimeS)}, ${uncleared}${lightShare > 0 ? ' uncleared' : ''}`}
      >
        <canvas ref={canvas} {...pixels} style={{ width, height }} />
        {isNow && <em className="grid-now-mark">now</em>}
        <span className="grid-caption">
          <span>{Math.max(1, Math.round(burnTimeS / 60))} min</span>
          <span>{lightShare > 0 ? short(unclearedShare) : '–'}</span>
        </span>
      </Button>
      <Popover className="choice-popover pin-popover">
        <Menu className="choice-list" aria-label={title}>
          <MenuItem className="choice-item" onAction={onTake}>
            <span>Use these settings</span>
            <small>The piece takes {title}; undo brings yours back.</small>
          </MenuItem>
          <MenuItem className="choice-item" onAction={onPin}>
            <span>Pin</span>
            <small>Puts it on the strip, to be compared on the slab.</small>
          </MenuItem>
        </Menu>
      </Popover>
    </MenuTrigger>
  );
}
