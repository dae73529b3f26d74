import { SwitchControl } from '../fields/SwitchControl.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { changeHeat } from '../store/piece-edits.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** Whether rows warm the ones that follow. */
export function HeatControls() {
  const heat = usePieceStore((state) => state.piece.heat);
  return (
    <>
      <SwitchControl
        label="Rows warm the next"
        hint="Where the head is soon back the wood is still warm: narrow parts and short rows burn deeper."
        value={heat.carryOver}
        onChange={(carryOver) => changeHeat({ carryOver })}
      />
      {heat.carryOver && (
        <ValueControl
          label="Heat that stays"
          hint="Of what is taken up; smoke and chips carry off the rest."
          unit="%"
          value={100 * heat.retainedShare}
          onChange={(percent) => changeHeat({ retainedShare: percent / 100 })}
          low={0}
          high={100}
          step={1}
          digits={0}
        />
      )}
    </>
  );
}
