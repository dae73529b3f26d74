import { useEffect, useMemo, useRef } from 'react';
import { labToLinearRgb } from '../../../base/color/lab.ts';
import { intactColor } from '../../../physics/material/appearance.ts';
import { pictureFrame } from '../../../piece/frame.ts';
import { SlabView, type SlabViewHandle, type SlabViewProps } from '../../../render/slab/SlabView.tsx';
import { oddsSurface } from '../../burn/odds-surface.ts';
import { ask } from '../../burn/proof-client.ts';
import { type ProofRecord, setProof, surfaceOf, useProofStore, useShown } from '../../burn/proof-store.ts';
import { inBackground } from '../../faults/tell-fault.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import { setSession, useSessionStore } from '../../store/session-store.ts';
import { changeSurface } from '../../studies/rescue/rescue.ts';
import { useRescueStore } from '../../studies/rescue/rescue-store.ts';
import { usePlacing } from './use-placing.ts';
import { useWoodPhoto } from './use-wood-photo.ts';

export const TABLE_GREY = '#8f8a84';

interface StageProps {
  handle: React.RefObject<SlabViewHandle | null>;
  padding: { left: number; right: number; top: number; bottom: number };
}

/** The slab on the table, fed from the stores. */
export function Stage({ handle, padding }: StageProps) {
  const session = useSessionStore();
  const rescue = useRescueStore();
  const { piece, photo } = usePieceStore();
  const { left, right } = useShown();
  const ground = useProofStore((state) => state.ground);
  // What is shown of the current proof's wood changes without another proof.
  const current = useProofStore((state) => state.current);
  const shown = left?.piece ?? piece;
  const intact = useMemo(() => intactColor(shown.stack, shown.slab.wood), [shown.stack, shown.slab.wood]);
  const woodPhoto = useWoodPhoto(left === current ? piece.slab : shown.slab);
  const { placing, isGhost } = usePlacing(left);
  const ratio = photo ? photo.height / photo.width : 0.78;
  const asking = useRef(0);

  const shownOf = (record: ProofRecord | null) =>
    (record &&
      changeSurface(record, rescue.showsChange ? (rescue.proposal?.plan?.map ?? null) : null, rescue.askedFor)) ||
    (record && session.shows !== 'proof' && oddsSurface(record, session.shows)) ||
    surfaceOf(record);

  const probe: SlabViewProps['onProbe'] = (point) => {
    asking.current++;
    const turn = asking.current;
    const record = point?.side === 'right' ? right : left;
    if (!point || !record) {
      setProof({ probe: null });
      return;
    }
    // What is not kept any more reads as nothing.
    const reads = ask('probe', { id: record.id, xMm: point.xMm, yMm: point.yMm }).catch(() => null);
    inBackground(
      reads.then((reading) => {
        if (asking.current === turn) setProof({ probe: { ...point, reading } });
      }),
    );
  };
  useEffect(() => () => setProof({ probe: null }), []);

  const { slab, picture, stack } = shown;
  return (
    <SlabView
      ref={handle}
      slab={{
        shape: slab.shape,
        outlineMm: slab.outlineMm,
        widthMm: slab.widthMm,
        heightMm: slab.heightMm,
        thicknessMm: slab.thicknessMm,
        woodColor: labToLinearRgb(slab.wood.colorLab),
        edge: slab.edge,
        cut: slab.cut,
        pithXMm: slab.pithXMm,
        pithYMm: slab.pithYMm,
        ringWidthMm: slab.wood.ringWidthMm,
      }}
      picture={{
        centreXMm: picture.offsetXMm,
        centreYMm: picture.offsetYMm,
        ...pictureFrame(picture, { width: 1, height: ratio }),
        crop: picture.rotationRad === 0 ? picture.crop : 'rectangle',
      }}
      ground={ground}
      woodPhoto={woodPhoto}
      placing={placing}
      intactColor={intact}
      gloss60={stack.coats[0]?.gloss60 ?? null}
      underGloss60={stack.coats[1]?.gloss60 ?? null}
      surfaces={{ left: isGhost ? null : shownOf(left), right: shownOf(right) }}
      wipe={right && session.compare === 'wipe' ? session.wipe : null}
      sideBySide={right !== null && session.compare === 'side-by-side'}
      overlays={{ uncleared: session.uncleared, scorched: session.scorched }}
      reliefExaggeration={session.reliefExaggeration}
      sheen={session.sheen}
      lamp={session.lamp}
      onLampChange={(lamp) => setSession({ lamp })}
      onWipeChange={(wipe) => setSession({ wipe })}
      onProbe={probe}
      resetToken={session.resetToken}
      lookAt={session.lookAt}
      background={TABLE_GREY}
      padding={padding}
    />
  );
}
