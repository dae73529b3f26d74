import type { KeyboardEvent, ReactNode } from 'react';

interface SheetTableProps {
  onUndo: () => void;
  onRedo: () => void;
  children: ReactNode;
}

/** What lies in the dialog. Undo and redo by key belong to it while it is open, but for text that is being typed. */
export function SheetTable({ onUndo, onRedo, children }: SheetTableProps) {
  const byKey = (event: KeyboardEvent) => {
    const key = event.key.toLowerCase();
    if (!(event.ctrlKey || event.metaKey) || (key !== 'z' && key !== 'y')) return;
    event.stopPropagation();
    const { target } = event;
    if (target instanceof HTMLTextAreaElement || (target instanceof HTMLInputElement && target.type !== 'range'))
      return;
    event.preventDefault();
    if (key === 'y' || event.shiftKey) onRedo();
    else onUndo();
  };
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: it only catches keys of what is in it
    <div className="sheet-table" onKeyDown={byKey}>
      {children}
    </div>
  );
}
