import { type ComponentType, lazy } from 'react';

const failed = new Set<() => void>();

/** A part of the page that is loaded when it is first shown. If that failed, it is loaded anew after `renewParts`. */
export function lazyPart<Props extends object>(load: () => Promise<ComponentType<Props>>): ComponentType<Props> {
  const make = () =>
    lazy<ComponentType<Props>>(async () => {
      try {
        return { default: await load() };
      } catch (error) {
        failed.add(renew);
        throw error;
      }
    });
  // React keeps what a lazy component came to, a failure too.
  let Part: ComponentType<Props> = make();
  const renew = () => {
    Part = make();
  };
  return (props) => <Part {...props} />;
}

/** Before what failed is tried again. */
export function renewParts(): void {
  for (const renew of failed) renew();
  failed.clear();
  // The bundler asks for a part's styles once only.
  for (const link of document.querySelectorAll<HTMLLinkElement>('link[rel=stylesheet]')) {
    if (!link.sheet) link.replaceWith(link.cloneNode());
  }
}
