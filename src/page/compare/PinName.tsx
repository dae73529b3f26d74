import { type KeyboardEvent, useEffect, useRef, useState } from 'react';

interface PinNameProps {
  name: string;
  /** Null: it stays as it was. */
  onDone: (name: string | null) => void;
}

/** A pin's name while it is being changed, over the card's title. */
export function PinName({ name, onDone }: PinNameProps) {
  const [text, setText] = useState(name);
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => {
    // The menu that was chosen from takes the focus back as it closes.
    const timer = setTimeout(() => field.current?.select(), 60);
    return () => clearTimeout(timer);
  }, []);
  const byKey = (event: KeyboardEvent) => {
    event.stopPropagation();
    if (event.key === 'Enter') onDone(text);
    if (event.key === 'Escape') onDone(null);
  };
  const leave = () => {
    if (document.activeElement !== field.current) onDone(text);
  };
  return (
    <input
      ref={field}
      className="pin-name"
      aria-label="Name of the proof"
      type="text"
      maxLength={60}
      value={text}
      onChange={(event) => setText(event.target.value)}
      onKeyDown={byKey}
      onBlur={leave}
    />
  );
}
