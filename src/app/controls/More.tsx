import type { ReactNode } from 'react';
import { Button, Disclosure, DisclosurePanel } from 'react-aria-components';

/** What matters less, folded away; made only once it is unfolded, because many controls cost time at every change. */
export function More({ label, children }: { label: string; children: ReactNode }) {
  return (
    <Disclosure className="more">
      {({ isExpanded }) => (
        <>
          <Button slot="trigger" className="more-button">
            <span aria-hidden="true" className="chevron" />
            {label}
          </Button>
          <DisclosurePanel className="more-panel">
            {isExpanded && <div className="more-body">{children}</div>}
          </DisclosurePanel>
        </>
      )}
    </Disclosure>
  );
}
