import type { QuoteLanguage } from '../../piece/quote-schema.ts';

/** What a quote says, in the client's language. */
export interface QuoteWords {
  readonly quote: string;
  readonly for: string;
  readonly option: string;
  readonly size: string;
  readonly picture: string;
  readonly passes: string;
  readonly net: string;
  readonly tax: string;
  readonly total: string;
  readonly date: string;
  readonly validUntil: string;
  readonly about: string;
  /** Wood and coats are put in. */
  readonly made: (wood: string, coats: string) => string;
  readonly bare: (wood: string) => string;
  readonly shown: string;
  readonly varies: string;
}

export const QUOTE_WORDS: Readonly<Record<QuoteLanguage, QuoteWords>> = {
  en: {
    quote: 'Quote',
    for: 'For',
    option: 'Option',
    size: 'Slab',
    picture: 'Picture',
    passes: 'Passes',
    net: 'Net',
    tax: 'Tax',
    total: 'Total',
    date: 'Date',
    validUntil: 'Valid until',
    about: 'What you get',
    made: (wood, coats) =>
      `Your photograph burned into a slab of ${wood}, painted ${coats}. Each slab is one of a kind.`,
    bare: (wood) => `Your photograph burned into a slab of ${wood}. Each slab is one of a kind.`,
    shown: 'How it is predicted to look.',
    varies:
      'Wood and paint vary from slab to slab: the finished piece can come out somewhat lighter or darker than shown.',
  },
  de: {
    quote: 'Angebot',
    for: 'Für',
    option: 'Ausführung',
    size: 'Scheibe',
    picture: 'Bild',
    passes: 'Durchgänge',
    net: 'Netto',
    tax: 'Steuer',
    total: 'Gesamt',
    date: 'Datum',
    validUntil: 'Gültig bis',
    about: 'Was Sie bekommen',
    made: (wood, coats) =>
      `Ihr Foto, eingebrannt in eine Holzscheibe (${wood}), gestrichen mit ${coats}. Jede Scheibe ist ein Einzelstück.`,
    bare: (wood) => `Ihr Foto, eingebrannt in eine Holzscheibe (${wood}). Jede Scheibe ist ein Einzelstück.`,
    shown: 'So wird es voraussichtlich aussehen.',
    varies:
      'Holz und Farbe fallen von Scheibe zu Scheibe anders aus: Das fertige Stück kann etwas heller oder dunkler werden als gezeigt.',
  },
  fr: {
    quote: 'Devis',
    for: 'Pour',
    option: 'Version',
    size: 'Plateau',
    picture: 'Image',
    passes: 'Passages',
    net: 'Hors taxes',
    tax: 'Taxes',
    total: 'Total',
    date: 'Date',
    validUntil: 'Valable jusqu’au',
    about: 'Ce que vous recevez',
    made: (wood, coats) =>
      `Votre photographie brûlée dans un plateau de bois (${wood}), peint de ${coats}. Chaque plateau est unique.`,
    bare: (wood) => `Votre photographie brûlée dans un plateau de bois (${wood}). Chaque plateau est unique.`,
    shown: 'L’aspect prévu.',
    varies:
      'Le bois et la peinture varient d’un plateau à l’autre : la pièce finie peut être un peu plus claire ou plus foncée que l’image.',
  },
  es: {
    quote: 'Presupuesto',
    for: 'Para',
    option: 'Opción',
    size: 'Tabla',
    picture: 'Imagen',
    passes: 'Pasadas',
    net: 'Neto',
    tax: 'Impuestos',
    total: 'Total',
    date: 'Fecha',
    validUntil: 'Válido hasta',
    about: 'Lo que recibe',
    made: (wood, coats) =>
      `Su fotografía grabada a fuego en una rodaja de madera (${wood}), pintada con ${coats}. Cada pieza es única.`,
    bare: (wood) => `Su fotografía grabada a fuego en una rodaja de madera (${wood}). Cada pieza es única.`,
    shown: 'El aspecto previsto.',
    varies:
      'La madera y la pintura varían de una pieza a otra: el resultado puede ser algo más claro o más oscuro de lo que se muestra.',
  },
  it: {
    quote: 'Preventivo',
    for: 'Per',
    option: 'Versione',
    size: 'Tavola',
    picture: 'Immagine',
    passes: 'Passate',
    net: 'Netto',
    tax: 'Imposte',
    total: 'Totale',
    date: 'Data',
    validUntil: 'Valido fino al',
    about: 'Che cosa riceve',
    made: (wood, coats) =>
      `La Sua fotografia impressa a fuoco in una tavola di legno (${wood}), dipinta con ${coats}. Ogni tavola è unica.`,
    bare: (wood) => `La Sua fotografia impressa a fuoco in una tavola di legno (${wood}). Ogni tavola è unica.`,
    shown: 'L’aspetto previsto.',
    varies:
      'Legno e vernice cambiano da una tavola all’altra: il pezzo finito può risultare un po’ più chiaro o più scuro di quanto mostrato.',
  },
  nl: {
    quote: 'Offerte',
    for: 'Voor',
    option: 'Uitvoering',
    size: 'Plak hout',
    picture: 'Afbeelding',
    passes: 'Gangen',
    net: 'Netto',
    tax: 'Belasting',
    total: 'Totaal',
    date: 'Datum',
    validUntil: 'Geldig tot',
    about: 'Wat u krijgt',
    made: (wood, coats) =>
      `Uw foto, ingebrand in een plak hout (${wood}), geschilderd met ${coats}. Elke plak is uniek.`,
    bare: (wood) => `Uw foto, ingebrand in een plak hout (${wood}). Elke plak is uniek.`,
    shown: 'Zo ziet het er naar verwachting uit.',
    varies:
      'Hout en verf verschillen van plak tot plak: het voltooide stuk kan iets lichter of donkerder uitvallen dan getoond.',
  },
};
