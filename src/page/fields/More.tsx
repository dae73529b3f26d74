import type { ReactNode } from 'react';
import { Button, Disclosure, DisclosurePanel } from 'react-aria-components';

interface MoreProps {
  label: string;
  /** What it holds, in a word, so that it tells while folded. */
  note?: string;
  children: ReactNode;
}

/** What matters less, folded away; made only once it is unfolded, because many controls cost time at every change. */
export function More({ label, note, children }: MoreProps) {
  return (
    <Disclosure className="more">
      {({ isExpanded }) => (
        <>
          <Button slot="trigger" className="more-button">
            <span aria-hidden="true" className="chevron" />
            {label}
            {note && <small className="more-note">{note}</small>}
          </Button>
          <DisclosurePanel className="more-panel">
            {isExpanded && <div className="more-body">{children}</div>}
          </DisclosurePanel>
        </>
      )}
    </Disclosure>
  );
}
