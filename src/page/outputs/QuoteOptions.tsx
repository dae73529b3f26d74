import { Button } from 'react-aria-components';
import { coinDigits, type QuoteSum } from '../../outputs/paper/quote-sum.ts';
import type { QuoteOption, QuoteSettings } from '../../piece/quote-schema.ts';
import { NameControl } from '../fields/NameControl.tsx';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';

const MOST_OPTIONS = 4;

/** What another size begins with, mm, beside the piece's own. */
type Own = { readonly widthMm: number; readonly passes: number };

interface QuoteOptionsProps {
  quote: QuoteSettings;
  sums: readonly QuoteSum[] | null;
  /** Width and passes that the piece has. */
  own: Own;
  onChange: (part: Partial<QuoteSettings>) => void;
}

/** What the client may choose between, each with what it comes to. */
export function QuoteOptions({ quote, sums, own, onChange }: QuoteOptionsProps) {
  const edit = (index: number, part: Partial<QuoteOption>) =>
    onChange({ options: quote.options.map((option, i) => (i === index ? { ...option, ...part } : option)) });
  const add = () => onChange({ options: [...quote.options, { ...quote.options[quote.options.length - 1], name: '' }] });
  return (
    <>
      {quote.options.map((option, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: options have no identity but their place
        <fieldset key={i} className="quote-option" aria-label={`Option ${i + 1}`}>
          <NameControl label="Option" value={option.name} onChange={(name) => edit(i, { name })} />
          <SizeAndPasses option={option} own={own} onChange={(part) => edit(i, part)} />
          <ValueControl
            label="Slab"
            hint="What the wood costs you."
            unit={quote.currency}
            value={option.slabCost}
            onChange={(slabCost) => edit(i, { slabCost })}
            low={0}
            high={1e7}
            sliderHigh={100}
            step={1}
          />
          <ValueControl
            label="Handwork"
            hint="Sanding, painting, placing, finishing, packing."
            unit="min"
            value={option.handworkMinutes}
            onChange={(handworkMinutes) => edit(i, { handworkMinutes })}
            low={0}
            high={100000}
            sliderHigh={300}
            step={5}
            digits={0}
          />
          <OptionSum sum={sums?.[i] ?? null} currency={quote.currency} />
          {quote.options.length > 1 && (
            <Button
              className="quiet"
              onPress={() => onChange({ options: quote.options.filter((_, other) => other !== i) })}
            >
              Take this option away
            </Button>
          )}
        </fieldset>
      ))}
      {quote.options.length < MOST_OPTIONS && (
        <Button className="quiet" onPress={add}>
          Add an option
        </Button>
      )}
    </>
  );
}

function SizeAndPasses({
  option: { pictureWidthMm, passes },
  own,
  onChange,
}: {
  option: QuoteOption;
  own: Own;
  onChange: (part: Partial<QuoteOption>) => void;
}) {
  return (
    <>
      <PairSwitch
        label="Picture"
        value={pictureWidthMm === null ? 'piece' : 'other'}
        options={[
          { id: 'piece', label: `As this piece, ${Math.round(own.widthMm)} mm` },
          { id: 'other', label: 'Another width' },
        ]}
        onChange={(id) => onChange({ pictureWidthMm: id === 'piece' ? null : own.widthMm })}
      />
      {pictureWidthMm !== null && (
        <ValueControl
          label="Picture’s width"
          hint="As the client gets it; the burn time follows."
          unit="mm"
          value={pictureWidthMm}
          onChange={(widthMm) => onChange({ pictureWidthMm: widthMm })}
          low={1}
          high={3000}
          sliderHigh={600}
          step={5}
          digits={0}
        />
      )}
      {own.passes > 1 && (
        <ValueControl
          label="Passes"
          hint={`How many of the piece’s ${own.passes} passes are burned.`}
          unit=""
          value={Math.min(passes ?? own.passes, own.passes)}
          onChange={(count) => onChange({ passes: Math.round(count) === own.passes ? null : Math.round(count) })}
          low={1}
          high={own.passes}
          step={1}
          digits={0}
        />
      )}
    </>
  );
}

function OptionSum({ sum, currency }: { sum: QuoteSum | null; currency: string }) {
  if (!sum) return <p className="plain">Working out the burn time…</p>;
  const money = (value: number) =>
    new Intl.NumberFormat(undefined, {
      style: 'currency',
      currency,
      minimumFractionDigits: coinDigits(currency),
    }).format(value);
  const parts: readonly (readonly [string, number])[] = [
    [`Machine, ${Math.round(sum.machineMinutes)} min`, sum.machine],
    ['Handwork', sum.handwork],
    ['Slab', sum.slab],
    ['Paint', sum.paint],
    ...(sum.extra > 0 ? [['Other', sum.extra] as const] : []),
    ['Margin', sum.margin],
    ['Tax', sum.tax],
  ];
  return (
    <dl className="sum-lines">
      {parts.map(([label, value]) => (
        <div key={label}>
          <dt>{label}</dt>
          <dd>{money(value)}</dd>
        </div>
      ))}
      <div className="sum-total">
        <dt>Total</dt>
        <dd>{money(sum.total)}</dd>
      </div>
    </dl>
  );
}
