import type { ReactNode } from 'react';
import { Button, Disclosure, DisclosurePanel } from 'react-aria-components';

/** What matters less, folded away. */
export function More({ label, children }: { label: string; children: ReactNode }) {
  return (
    <Disclosure className="more">
      <Button slot="trigger" className="more-button">
        <span aria-hidden="true" className="chevron" />
        {label}
      </Button>
      <DisclosurePanel className="more-panel">
        <div className="more-body">{children}</div>
      </DisclosurePanel>
    </Disclosure>
  );
}
