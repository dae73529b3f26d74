import { useState } from 'react';
import { Input, Label, TextArea, TextField } from 'react-aria-components';
import { QUOTE_LANGUAGES, type QuoteLanguage, type QuoteSettings } from '../../piece/quote-schema.ts';
import { ChoiceControl } from '../fields/ChoiceControl.tsx';
import { NameControl } from '../fields/NameControl.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';

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
