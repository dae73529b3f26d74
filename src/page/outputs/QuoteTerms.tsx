import { useState } from 'react';
import { Button, Input, Label, TextArea, TextField } from 'react-aria-components';
import { coinDigits, type QuoteSum } from '../../outputs/paper/quote-paper.ts';
import { QUOTE_LANGUAGES, type QuoteLanguage, type QuoteOption, type QuoteSettings } from '../../piece/schema.ts';
import { ChoiceControl, NameControl, PairSwitch, ValueControl } from '../fields/ValueControl.tsx';

const LANGUAGE_NAMES: Readonly<Record<QuoteLanguage, string>> = {
  en: 'English',
  de: 'Deutsch',
  fr: 'Français',
  es: 'Español',
  it: 'Italiano',
  nl: 'Nederlands',
};

interface QuoteTermsProps {
  quote: QuoteSettings;
  onChange: (part: Partial<QuoteSettings>) => void;
}

/** Who it is for and what the maker charges. */
export function QuoteTerms({ quote, onChange }: QuoteTermsProps) {
  const rate = (key: 'machinePerHour' | 'handworkPerHour' | 'paintPerLitre' | 'extraCost') => ({
    unit: quote.currency,
    value: quote[key],
    onChange: (value: number) => onChange({ [key]: value }),
    low: 0,
    high: key === 'extraCost' ? 1e7 : 1e6,
    sliderHigh: 150,
    step: 1,
  });
  const share = (key: 'margin' | 'tax' | 'paintLoss', high: number, sliderHigh: number) => ({
    unit: '%',
    value: 100 * quote[key],
    onChange: (percent: number) => onChange({ [key]: percent / 100 }),
    low: 0,
    high,
    sliderHigh,
    step: 1,
    digits: 2,
  });
  return (
    <>
      <NameControl label="Client" value={quote.client} onChange={(client) => onChange({ client })} />
      <NameControl label="Your workshop" value={quote.workshop} onChange={(workshop) => onChange({ workshop })} />
      <TextField className="text-field" value={quote.note} maxLength={2000} onChange={(note) => onChange({ note })}>
        <Label>A word to the client</Label>
        <TextArea rows={3} />
      </TextField>
      <ChoiceControl
        label="Language of the quote"
        value={quote.language}
        choices={QUOTE_LANGUAGES.map((id) => ({ id, label: LANGUAGE_NAMES[id] }))}
        onChange={(language) => onChange({ language })}
      />
      <CurrencyField currency={quote.currency} onChange={(currency) => onChange({ currency })} />
      <ValueControl
        label="Machine, an hour"
        hint="Wear, power, tube or diode, your watching."
        {...rate('machinePerHour')}
      />
      <ValueControl label="Handwork, an hour" hint="What an hour at the bench is worth." {...rate('handworkPerHour')} />
      <ValueControl label="Paint, a litre" hint="The amount follows from coats and slab." {...rate('paintPerLitre')} />
      <ValueControl
        label="Paint lost"
        hint="Overspray, what stays in gun, brush and tin."
        {...share('paintLoss', 95, 95)}
      />
      <ValueControl label="Anything else" hint="Packing, postage, hanger: for each option." {...rate('extraCost')} />
      <ValueControl label="Margin" hint="On top of all costs." {...share('margin', 1000, 100)} />
      <ValueControl label="Tax" hint="On top of costs and margin." {...share('tax', 100, 30)} />
      <ValueControl
        label="Valid for"
        hint="From the day it is made."
        unit="days"
        value={quote.validDays}
        onChange={(days) => onChange({ validDays: Math.round(days) })}
        low={1}
        high={3650}
        sliderHigh={120}
        step={1}
        digits={0}
      />
    </>
  );
}

/** Three letters; what is not a code yet stays in the field and changes nothing. */
function CurrencyField({ currency, onChange }: { currency: string; onChange: (code: string) => void }) {
  const [typed, setTyped] = useState<string | null>(null);
  return (
    <TextField
      className="text-field"
      value={typed ?? currency}
      maxLength={3}
      isInvalid={typed !== null}
      onChange={(text) => {
        const code = text.toUpperCase();
        const valid = /^[A-Z]{3}$/.test(code);
        setTyped(valid ? null : code);
        if (valid) onChange(code);
      }}
      onBlur={() => setTyped(null)}
    >
      <Label>Currency</Label>
      <Input placeholder="EUR" />
      <p className="hint">Three letters, as in EUR, GBP or USD.</p>
    </TextField>
  );
}

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
