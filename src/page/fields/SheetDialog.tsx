import {
  Component,
  createContext,
  type KeyboardEvent,
  type ReactNode,
  useContext,
  useEffect,
  useRef,
  useState,
} from 'react';
import { Button, Dialog, Disclosure, DisclosurePanel, Heading, Modal, ModalOverlay } from 'react-aria-components';
import { createPortal } from 'react-dom';
import { renewParts } from '../faults/lazy-part.tsx';
import { savePieceFile } from '../store/keeping.ts';
import { setSession, useSessionStore } from '../store/piece-store.ts';
import { PartHeard, useFullName } from './of-part.tsx';
import './sheet-dialog.css';
import './section.css';

interface SheetDialogProps {
  label: string;
  isOpen: boolean;
  onClose: () => void;
  children: ReactNode;
}

/** A dialog nearly as large as the page, with a picture to work on and a panel beside it; Escape closes it. */
export function SheetDialog({ label, isOpen, onClose, children }: SheetDialogProps) {
  const dialog = useRef<HTMLElement>(null);
  const close = useRef(onClose);
  useEffect(() => {
    close.current = onClose;
  });
  // A button that goes off while it works takes the focus out of the dialog, and Escape with it.
  useEffect(() => {
    if (!isOpen) return;
    const byKey = (event: globalThis.KeyboardEvent) => {
      const onTop = [...document.querySelectorAll('.sheet-dialog')].at(-1) === dialog.current;
      if (event.key === 'Escape' && event.target === document.body && onTop) close.current();
    };
    document.addEventListener('keydown', byKey);
    return () => document.removeEventListener('keydown', byKey);
  }, [isOpen]);
  return (
    <ModalOverlay
      className="sheet-veil"
      isOpen={isOpen}
      onOpenChange={(open) => !open && onClose()}
      isDismissable={false}
    >
      <Modal className="sheet-modal">
        <Dialog ref={dialog} className="sheet-dialog" aria-label={label}>
          {/* A dialog that is opened from a step has no room in the column for what it keeps besides. */}
          <PagePlace value={null}>
            <Section name={label}>{children}</Section>
          </PagePlace>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}

/** Steps that can be taken back and done again. */
export interface Steps {
  readonly canUndo: boolean;
  readonly canRedo: boolean;
  readonly undo: () => void;
  readonly redo: () => void;
}

export function StepButtons({ canUndo, canRedo, undo, redo }: Steps) {
  return (
    <>
      <Button className="quiet" isDisabled={!canUndo} onPress={undo}>
        Undo
      </Button>
      <Button className="quiet" isDisabled={!canRedo} onPress={redo}>
        Redo
      </Button>
    </>
  );
}

interface SheetTableProps {
  title: string;
  /** Beside the title. */
  beside?: ReactNode;
  steps?: Steps;
  /** More that can be done with all of it. */
  actions?: ReactNode;
  onClose?: () => void;
  children: ReactNode;
}

/**
 * What lies in the dialog, under a line with its name and what can be done with all of it. Undo and redo by key belong to it while it is
 * open, but for text that is being typed.
 */
export function SheetTable({ title, beside, steps, actions, onClose, children }: SheetTableProps) {
  const byKey = (event: KeyboardEvent) => {
    const key = event.key.toLowerCase();
    if (!(event.ctrlKey || event.metaKey) || (key !== 'z' && key !== 'y')) return;
    event.stopPropagation();
    const { target } = event;
    if (target instanceof HTMLTextAreaElement || (target instanceof HTMLInputElement && target.type !== 'range'))
      return;
    event.preventDefault();
    if (key === 'y' || event.shiftKey) steps?.redo();
    else steps?.undo();
  };
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: it only catches keys of what is in it
    <div className="sheet-table" onKeyDown={byKey}>
      <header className="sheet-head">
        <Heading slot="title">{title}</Heading>
        {beside}
        <span className="spacer" />
        {steps && <StepButtons {...steps} />}
        {actions}
        {onClose && (
          <Button className="quiet" onPress={onClose}>
            Close
          </Button>
        )}
      </header>
      {children}
    </div>
  );
}

interface SectionProps {
  /** As it begins a sentence: "The mask". */
  name: string;
  /** Where the words stand: a class that has the place of what failed. */
  place?: string;
  /** What it means in words of its own; null for a fault that is not known here. */
  explain?: (fault: Error) => string | null;
  children: ReactNode;
}

interface SectionState {
  readonly fault: Error | null;
}

/** A part of the page that fails by itself: the rest stays, and the maker can try again or save the piece. */
export class Section extends Component<SectionProps, SectionState> {
  override state: SectionState = { fault: null };

  static getDerivedStateFromError(fault: unknown): SectionState {
    return { fault: fault instanceof Error ? fault : new Error(String(fault)) };
  }

  private readonly tryAgain = (): void => {
    renewParts();
    this.setState({ fault: null });
  };

  override render(): ReactNode {
    const { fault } = this.state;
    const { name, place = '', explain, children } = this.props;
    if (!fault) return children;
    return (
      <div className={`section-fault ${place}`} role="alert">
        <h2>{name} cannot be shown</h2>
        <p>{explain?.(fault) ?? `Something went wrong there (${fault.message}). Your piece is as it was.`}</p>
        <div className="section-fault-ways">
          <Button className="wide" onPress={this.tryAgain}>
            Try again
          </Button>
          <Button className="quiet" onPress={savePieceFile}>
            Save the piece as a file
          </Button>
        </div>
      </div>
    );
  }
}

interface MoreProps {
  label: string;
  /** What it holds, in a word, so that it tells while folded. */
  note?: string;
  /** By which it can be asked for from elsewhere. */
  name?: string;
  children: ReactNode;
}

/** Where the pages of a step are laid over it; null outside the column. */
const PagePlace = createContext<HTMLElement | null>(null);

/** A step of the job, with room for the pages that it keeps besides. */
export function StepPages({ children }: { children: ReactNode }) {
  const [place, setPlace] = useState<HTMLElement | null>(null);
  return (
    <PagePlace value={place}>
      <div className="step-place" ref={setPlace}>
        <div className="step-body">{children}</div>
      </div>
    </PagePlace>
  );
}

interface MorePageProps {
  label: string;
  onBack: () => void;
  content: ReactNode;
}

/** What a step keeps besides, in its place until one goes back. */
function MorePage({ label, onBack, content }: MorePageProps) {
  const back = useRef<HTMLButtonElement>(null);
  const fullName = useFullName(label);
  useEffect(() => back.current?.focus(), []);
  const byKey = (event: KeyboardEvent) => {
    if (event.key !== 'Escape') return;
    event.stopPropagation();
    onBack();
  };
  return (
    <section className="more-page" aria-label={fullName} onKeyDown={byKey}>
      <Button ref={back} className="page-back" aria-label={`Back from ${fullName}`} onPress={onBack}>
        <span aria-hidden="true" className="chevron" />
        {label}
      </Button>
      {content}
    </section>
  );
}

/** What matters less: a page of its own in the column, folded away in a dialog; made only once it is unfolded, because many controls cost time at every change. */
export function More({ label, note, name, children }: MoreProps) {
  const [expanded, setExpanded] = useState(false);
  const asked = useSessionStore(({ unfolds }) => name !== undefined && unfolds === name);
  const root = useRef<HTMLDivElement>(null);
  const pages = useContext(PagePlace);
  useEffect(() => {
    if (!asked) return;
    setExpanded(true);
    setSession({ unfolds: null });
  }, [asked]);
  const goBack = () => {
    setExpanded(false);
    // Once the button is within reach again.
    setTimeout(() => root.current?.querySelector('button')?.focus());
  };
  if (pages) {
    return (
      <div className="more" ref={root}>
        <Button className="more-button" aria-expanded={expanded} onPress={() => setExpanded(true)}>
          {label}
          <PartHeard />
          {note && <small className="more-note">{note}</small>}
          <span aria-hidden="true" className="chevron" />
        </Button>
        {expanded && createPortal(<MorePage label={label} onBack={goBack} content={children} />, pages)}
      </div>
    );
  }
  return (
    <Disclosure className="more" isExpanded={expanded} onExpandedChange={setExpanded}>
      {({ isExpanded }) => (
        <>
          <Button slot="trigger" className="more-button">
            <span aria-hidden="true" className="chevron" />
            {label}
            <PartHeard />
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
