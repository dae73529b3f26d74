import { type ReactNode, useRef, useState } from 'react';
import { Button, Disclosure, DisclosurePanel } from 'react-aria-components';

interface ItemListProps<Item> {
  items: readonly Item[];
  most: number;
  /** What one of them is called: “knot”. */
  noun: string;
  /** Said when there are none. */
  none: string;
  summary: (item: Item) => string;
  create: () => Item;
  onChange: (items: Item[]) => void;
  children: (item: Item, index: number, onChange: (part: Partial<Item>) => void) => ReactNode;
}

/** A short list: each unfolds to its controls, one at a time; a new one is unfolded at once. */
export function ItemList<Item>({ items, most, noun, none, summary, create, onChange, children }: ItemListProps<Item>) {
  const [open, setOpen] = useState<number | null>(null);
  const add = useRef<HTMLButtonElement>(null);
  const remove = (index: number) => {
    onChange(items.filter((_, i) => i !== index));
    setOpen(null);
    add.current?.focus();
  };
  return (
    <div className="item-list">
      {items.length === 0 && <p className="plain">{none}</p>}
      {items.length > 0 && (
        <ul>
          {items.map((item, index) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: they have no identity but their place
            <li key={index}>
              <Disclosure
                className="item"
                isExpanded={open === index}
                onExpandedChange={(on) => setOpen(on ? index : null)}
              >
                <div className="item-head">
                  <Button slot="trigger" className="item-button">
                    <span aria-hidden="true" className="chevron" />
                    <span className="item-name">{`${capital(noun)} ${index + 1}`}</span>
                    <small className="item-summary">{summary(item)}</small>
                  </Button>
                  <Button className="quiet" aria-label={`Remove ${noun} ${index + 1}`} onPress={() => remove(index)}>
                    Remove
                  </Button>
                </div>
                <DisclosurePanel className="more-panel">
                  {open === index && (
                    <div className="item-body">
                      {children(item, index, (part) =>
                        onChange(items.map((one, i) => (i === index ? { ...one, ...part } : one))),
                      )}
                    </div>
                  )}
                </DisclosurePanel>
              </Disclosure>
            </li>
          ))}
        </ul>
      )}
      <Button
        ref={add}
        className="wide"
        isDisabled={items.length >= most}
        onPress={() => {
          onChange([...items, create()]);
          setOpen(items.length);
        }}
      >
        {items.length >= most ? `No more than ${most}` : `Add a ${noun}`}
      </Button>
    </div>
  );
}

const capital = (word: string): string => word.charAt(0).toUpperCase() + word.slice(1);
