import { useState } from 'react';
import { Button, Input, Label, TextArea, TextField } from 'react-aria-components';
import { coinDigits, type QuoteSum } from '../../outputs/paper/quote-paper.ts';
import { fieldOf } from '../../piece/fields.ts';
import { QUOTE_LANGUAGES, type QuoteLanguage, type QuoteOption, type QuoteSettings } from '../../piece/schema.ts';
import { Field } from '../fields/Field.tsx';
import { OfPart } from '../fields/of-part.tsx';
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
  return (
    <>
      <NameControl label="Client" value={quote.client} onChange={(client) => onChange({ client })} />
      <TextField className="text-field" value={quote.note} maxLength={2000} onChange={(note) => onChange({ note })}>
        <Label>Note to the client</Label>
        <TextArea rows={3} />
      </TextField>
      <ChoiceControl
        label="Language of the quote"
        value={quote.language}
        choices={QUOTE_LANGUAGES.map((id) => ({ id, label: LANGUAGE_NAMES[id] }))}
        onChange={(language) => onChange({ language })}
      />
      <CurrencyField currency={quote.currency} onChange={(currency) => onChange({ currency })} />
      <Field of="quote.machinePerHour" hint="Wear, power, tube or diode, your watching." currency={quote.currency} />
      <Field of="quote.handworkPerHour" hint="What an hour at the bench is worth." currency={quote.currency} />
      <Field of="quote.paintPerLitre" hint="The amount follows from coats and slab." currency={quote.currency} />
      <Field of="quote.paintLoss" hint="Overspray, what stays in gun, brush and tin." />
      <Field of="quote.extraCost" hint="Packing, postage, hanger: for each option." currency={quote.currency} />
      <Field of="quote.margin" hint="On top of all costs." />
      <Field of="quote.tax" hint="On top of costs and margin." />
      <Field of="quote.validDays" hint="From the day it is made." />
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
          <OfPart value={quote.options.length > 1 ? `option ${i + 1}` : ''}>
            <NameControl label="Option" value={option.name} onChange={(name) => edit(i, { name })} />
            <SizeAndPasses index={i} option={option} own={own} onChange={(part) => edit(i, part)} />
            <Field of={`quote.options.${i}.slabCost`} hint="What the wood costs you." currency={quote.currency} />
            <Field of={`quote.options.${i}.handworkMinutes`} hint="Sanding, painting, placing, finishing, packing." />
            <OptionSum sum={sums?.[i] ?? null} currency={quote.currency} />
          </OfPart>
          {quote.options.length > 1 && (
            <Button
              className="quiet"
              aria-label={`Take this option away, option ${i + 1}`}
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

interface SizeAndPassesProps {
  index: number;
  option: QuoteOption;
  own: Own;
  onChange: (part: Partial<QuoteOption>) => void;
}

function SizeAndPasses({ index, option: { pictureWidthMm, passes }, own, onChange }: SizeAndPassesProps) {
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
        <Field of={`quote.options.${index}.pictureWidthMm`} hint="As the client gets it; the burn time follows." />
      )}
      {own.passes > 1 && (
        <ValueControl
          of={{ ...fieldOf(`quote.options.${index}.passes`), high: own.passes }}
          hint={`How many of the piece’s ${own.passes} passes are burned.`}
          value={Math.min(passes ?? own.passes, own.passes)}
          onChange={(count) => onChange({ passes: count === own.passes ? null : count })}
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
