import { Input, Label, NumberField } from 'react-aria-components';
import { type Card, type CardLine, powerOf } from '../../../vision/card/card.ts';
import { CardPicture } from './CardPicture.tsx';
import { editWork, useCalibrate } from './calibrate-store.ts';
import type { CardLooks } from './messages.ts';

const GROUPS: readonly { start: string; title: string; name: (line: CardLine) => string }[] = [
  { start: 'a', title: 'Along the rows', name: ({ label }) => `Line ${label}` },
  { start: 'c', title: 'Across the rows', name: ({ label }) => `Across ${label}` },
  { start: 'f', title: 'At heights of focus', name: ({ label }) => `Focus ${label} mm` },
];

/** Widths of lines as a loupe tells them, and the pair of strokes that lines up. */
export function LineWidths({ card, looks }: { card: Card; looks: CardLooks }) {
  const { notes } = useCalibrate((state) => state.work);
  const setWidth = (id: string, mm: number) => {
    const { [id]: _, ...others } = notes.widths;
    editWork({ notes: { ...notes, widths: Number.isFinite(mm) ? { ...others, [id]: mm } : others } });
  };
  return (
    <div className="cal-paper cal-eye">
      <div className="cal-eye-head">
        <h3>How wide are the lines?</h3>
        <p>
          With a loupe and a scale of tenths, in mm. 0 for a line that does not show; leave out what you cannot tell.
        </p>
      </div>
      <div className="cal-lines">
        {GROUPS.map(({ start, title, name }) => {
          const lines = card.lines.filter(({ id }) => id.startsWith(start));
          return (
            lines.length > 0 && (
              <section key={start} aria-label={title}>
                <h4>{title}</h4>
                {lines.map((line) => (
                  <NumberField
                    key={line.id}
                    className="cal-width"
                    value={notes.widths[line.id] ?? Number.NaN}
                    minValue={0}
                    maxValue={5}
                    formatOptions={{ maximumFractionDigits: 3 }}
                    onChange={(mm) => setWidth(line.id, mm)}
                  >
                    <Label>
                      {name(line)} <small>{(100 * powerOf(line.burn)).toFixed(0)} %</small>
                    </Label>
                    <Input placeholder={(looks.lines[line.id]?.edgeMm ?? 0).toFixed(2)} />
                  </NumberField>
                ))}
              </section>
            )
          );
        })}
        {card.vernier && (
          <section aria-label="Two-way rows">
            <h4>Two-way rows</h4>
            <NumberField
              className="cal-width"
              value={notes.pair ?? Number.NaN}
              minValue={1}
              maxValue={card.vernier.teeth}
              onChange={(pair) =>
                editWork({ notes: { ...notes, pair: Number.isFinite(pair) ? Math.round(pair) : null } })
              }
            >
              <Label>Pair that lines up</Label>
              <Input placeholder={String((card.vernier.teeth + 1) / 2)} />
            </NumberField>
            <p className="hint">Counted from the left, 1 to {card.vernier.teeth}.</p>
          </section>
        )}
      </div>
      <figure className="cal-eye-card">
        <CardPicture card={card} looks={looks} label="Where the lines lie on the card" small />
        <figcaption>Grey figures are what today’s numbers expect.</figcaption>
      </figure>
    </div>
  );
}
