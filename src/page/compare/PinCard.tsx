import { type DragEvent, type KeyboardEvent, useState } from 'react';
import { Button, Menu, MenuItem, MenuTrigger, Popover } from 'react-aria-components';
import { type PinnedProof, useProofStore } from '../burn/proof-store.ts';
import { inBackground } from '../faults/tell-fault.ts';
import { PinName } from './PinName.tsx';
import { Progress, ProofCard } from './ProofCard.tsx';
import { repeatPin, stopRepeat } from './pin-repeat.ts';
import { PIN_TYPE } from './pin-type.ts';
import { goBackTo, movePin, renamePin, unpin } from './pins.ts';

interface PinCardProps {
  pin: PinnedProof;
  place: number;
  count: number;
  /** Index of the pin that is being dragged along the strip, and where it would land. */
  drag: { readonly from: number; readonly to: number } | null;
  onDrag: (drag: { readonly from: number; readonly to: number } | null) => void;
}

/** A pinned proof: its card, its name to be changed in place, and what can be done with it. */
export function PinCard({ pin, place, count, drag, onDrag }: PinCardProps) {
  const [naming, setNaming] = useState(false);
  const repeating = useProofStore((state) => (state.repeating?.id === pin.id ? state.repeating : null));
  const { status, result } = pin.record;
  const byKey = (event: KeyboardEvent) => {
    if (!event.altKey || (event.key !== 'ArrowLeft' && event.key !== 'ArrowRight')) return;
    event.preventDefault();
    movePin(pin.id, event.key === 'ArrowLeft' ? -1 : 1);
  };
  const dragged = {
    draggable: !naming,
    onDragStart: (event: DragEvent) => {
      event.dataTransfer.effectAllowed = 'move';
      event.dataTransfer.setData(PIN_TYPE, pin.id);
      onDrag({ from: place, to: place });
    },
    onDragOver: (event: DragEvent) => {
      if (!drag) return;
      event.preventDefault();
      if (drag.to !== place) onDrag({ ...drag, to: place });
    },
    onDrop: (event: DragEvent) => {
      if (!drag) return;
      event.preventDefault();
      event.stopPropagation();
      movePin(event.dataTransfer.getData(PIN_TYPE), place - drag.from);
      onDrag(null);
    },
    onDragEnd: () => onDrag(null),
  };
  const landing =
    drag && drag.to === place && drag.from !== place ? (drag.from > place ? 'before' : 'after') : undefined;
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: what the keys do is in the menu too
    <div className="pin" data-landing={landing} onKeyDown={byKey} {...dragged}>
      <ProofCard
        id={pin.id}
        title={pin.name}
        record={pin.record}
        thumbnail={pin.thumbnail}
        onPick={() => inBackground(repeatPin(pin.id))}
      />
      {naming && (
        <PinName
          name={pin.name}
          onDone={(name) => {
            if (name !== null) renamePin(pin.id, name);
            setNaming(false);
          }}
        />
      )}
      {result && status === 'waiting' && <span className="pin-note">numbers only; pick it to see it</span>}
      {result && repeating && (
        <span className="pin-note">
          <Progress words="burning" share={repeating.share} />
        </span>
      )}
      <MenuTrigger>
        <Button className="pin-more" aria-label={`What to do with ${pin.name}`}>
          <span aria-hidden="true">⋯</span>
        </Button>
        <Popover className="choice-popover pin-popover" placement="top end">
          <Menu className="choice-list">
            <MenuItem className="choice-item" onAction={() => goBackTo(pin.id)}>
              <span>Go back to these settings</span>
              <small>The piece takes them; undo brings yours back.</small>
            </MenuItem>
            <MenuItem className="choice-item" onAction={() => setNaming(true)}>
              <span>Rename</span>
            </MenuItem>
            {status === 'waiting' && (
              <MenuItem className="choice-item" onAction={() => inBackground(repeatPin(pin.id))}>
                <span>Compute its picture</span>
              </MenuItem>
            )}
            {status === 'computing' && (
              <MenuItem className="choice-item" onAction={() => stopRepeat(pin.id)}>
                <span>Stop computing</span>
              </MenuItem>
            )}
            {place > 0 && (
              <MenuItem className="choice-item" onAction={() => movePin(pin.id, -1)}>
                <span>Move earlier</span>
              </MenuItem>
            )}
            {place < count - 1 && (
              <MenuItem className="choice-item" onAction={() => movePin(pin.id, 1)}>
                <span>Move later</span>
              </MenuItem>
            )}
            <MenuItem className="choice-item" onAction={() => unpin(pin.id)}>
              <span>Take off the strip</span>
            </MenuItem>
          </Menu>
        </Popover>
      </MenuTrigger>
    </div>
  );
}
