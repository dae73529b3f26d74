import { useEffect, useState } from 'react';
import { quotePaper } from '../../outputs/paper/quote-paper.ts';
import { sumQuote } from '../../outputs/paper/quote-sum.ts';
import type { QuoteSettings } from '../../piece/quote-schema.ts';
import { ask } from '../burn/proof-client.ts';
import { useShown } from '../burn/proof-store.ts';
import { More } from '../fields/More.tsx';
import { fileName } from '../files/file-name.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { PaperButtons } from './PaperButtons.tsx';
import { paperPicture } from './paper-picture.ts';
import { QuoteOptions } from './QuoteOptions.tsx';
import { QuoteTerms } from './QuoteTerms.tsx';

/** A quote for the client: what the maker charges, options side by side, and the page that is sent. */
export function Quote() {
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const { left: record } = useShown();
  const seconds = useOptionSeconds();
  const change = (part: Partial<QuoteSettings>) =>
    usePieceStore.getState().change((now) => ({ ...now, quote: { ...now.quote, ...part } }));
  const sums = seconds && piece.quote.options.map((option, i) => sumQuote(piece, option, seconds[i] ?? 0));
  const make = async () => {
    if (!photo || !sums) throw new Error('The burn times are still being worked out; try again in a moment.');
    const pictureUrl = record?.status === 'done' ? await paperPicture(record.id, photo.width / photo.height) : null;
    return quotePaper({ piece, photo, sums, pictureUrl, today: Date.now(), locale: localeFor(piece.quote.language) });
  };
  return (
    <>
      <QuoteOptions
        quote={piece.quote}
        sums={sums}
        own={{ widthMm: piece.picture.widthMm, passes: piece.passes.length }}
        onChange={change}
      />
      <More label="Rates, client, terms">
        <QuoteTerms quote={piece.quote} onChange={change} />
      </More>
      <PaperButtons what="quote" fileName={`${fileName(piece.name)}-quote`} isDisabled={!sums} make={make} />
      <p className="hint">The client sees options, net, tax and total, not your costs. Nothing leaves this computer.</p>
    </>
  );
}

/** The browser's own way of writing numbers, if it speaks the quote's language. */
const localeFor = (language: string): string =>
  navigator.languages.find((one) => one.split('-')[0] === language) ?? language;

/** Burn time of each option; null while it is not known. Asked again when what decides it changes. */
function useOptionSeconds(): readonly number[] | null {
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const [answer, setAnswer] = useState<{ key: string; seconds: readonly number[] } | null>(null);
  const { slab, picture, passes, machine, quote } = piece;
  const sizes = quote.options.map(({ pictureWidthMm, passes: count }) => [pictureWidthMm, count]);
  const key = JSON.stringify([photo?.key, slab.outlineMm, slab.shape, picture, passes, machine, sizes]);
  useEffect(() => {
    if (!photo) return;
    const leaving = new AbortController();
    const timer = setTimeout(() => {
      ask('option-seconds', { piece: usePieceStore.getState().piece, photoKey: photo.key }, { signal: leaving.signal })
        .then((seconds) => setAnswer({ key, seconds }))
        .catch(() => undefined);
    }, 400);
    return () => {
      clearTimeout(timer);
      leaving.abort();
    };
  }, [key, photo]);
  return answer?.key === key ? answer.seconds : null;
}
