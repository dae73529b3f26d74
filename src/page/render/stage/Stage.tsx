import { useEffect, useMemo, useRef, useState } from 'react';
import { labToLinearRgb } from '../../../base/color/lab.ts';
import { intactColor } from '../../../physics/material/appearance.ts';
import { burnFrame, shownCrop } from '../../../piece/frame.ts';
import type { Slab } from '../../../piece/schema.ts';
import { shownPhoto } from '../../../render/model/face-map.ts';
import type { WoodPhoto } from '../../../render/slab/materials.ts';
import type { SlabViewHandle, SlabViewProps } from '../../../render/slab/SlabScene.tsx';
import { SlabView } from '../../../render/slab/SlabView.tsx';
import type { ProofSurface } from '../../../render/slab/surface/gpu-surface.ts';
import type { HowSure } from '../../../studies/sure/how-sure.ts';
import { mapSurface } from '../../burn/map-surface.ts';
import { ask, viewStarts } from '../../burn/proof-remote.ts';
import { type ProofRecord, setProof, surfaceOf, useProofStore, useShown } from '../../burn/proof-store.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { photoBytes, shrinkPhoto } from '../../files/photo-bytes.ts';
import { setSession, usePieceStore, useSessionStore } from '../../store/piece-store.ts';
import { changeSurface, useRescueStore } from '../../studies/rescue/rescue.ts';
import { usePlacing } from './use-placing.ts';

const TABLE_GREY = '#8f8a84';

interface StageProps {
  handle: React.RefObject<SlabViewHandle | null>;
  padding: { left: number; right: number; top: number; bottom: number };
}

/** The slab on the table, fed from the stores. */
export function Stage({ handle, padding }: StageProps) {
  const shows = useSessionStore((state) => state.shows);
  const compare = useSessionStore((state) => state.compare);
  const wipe = useSessionStore((state) => state.wipe);
  const uncleared = useSessionStore((state) => state.uncleared);
  const scorched = useSessionStore((state) => state.scorched);
  const reliefExaggeration = useSessionStore((state) => state.reliefExaggeration);
  const sheen = useSessionStore((state) => state.sheen);
  const lamp = useSessionStore((state) => state.lamp);
  const resetToken = useSessionStore((state) => state.resetToken);
  const lookAt = useSessionStore((state) => state.lookAt);
  const change = useRescueStore(({ showsChange, proposal }) => (showsChange ? (proposal?.plan?.map ?? null) : null));
  const changeAskedFor = useRescueStore((state) => state.askedFor);
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const { left, right } = useShown();
  const ground = useProofStore((state) => state.ground);
  // What is shown of the current proof's wood changes without another proof.
  const current = useProofStore((state) => state.current);
  const shown = left?.piece ?? piece;
  const intact = useMemo(() => intactColor(shown.stack, shown.slab.wood), [shown.stack, shown.slab.wood]);
  const woodPhoto = useWoodPhoto(left === current ? piece.slab : shown.slab);
  const { placing, isGhost, standIn } = usePlacing(left);
  const ratio = photo ? photo.height / photo.width : 0.78;
  const asking = useRef(0);

  const shownOf = (record: ProofRecord | null) =>
    (record && changeSurface(record, change, changeAskedFor)) ||
    (record && shows !== 'proof' && oddsSurface(record, shows)) ||
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
        ...burnFrame(shown, { width: 1, height: ratio }),
        crop: shownCrop(picture),
      }}
      ground={ground}
      woodPhoto={woodPhoto}
      placing={placing}
      standIn={standIn}
      intactColor={intact}
      gloss60={stack.coats[0]?.gloss60 ?? null}
      underGloss60={stack.coats[1]?.gloss60 ?? null}
      surfaces={{ left: isGhost ? null : shownOf(left), right: shownOf(right) }}
      wipe={right && compare === 'wipe' ? wipe : null}
      sideBySide={right !== null && compare === 'side-by-side'}
      overlays={{ uncleared, scorched }}
      reliefExaggeration={reliefExaggeration}
      sheen={sheen}
      lamp={lamp}
      onLampChange={(next) => setSession({ lamp: next })}
      onWipeChange={(next) => setSession({ wipe: next })}
      onProbe={probe}
      onContext={viewStarts}
      resetToken={resetToken}
      lookAt={lookAt}
      background={TABLE_GREY}
      padding={padding}
    />
  );
}

type OddsKind = 'uncleared' | 'scorched';

/** What a certain place is painted with, linear sRGB: the same hues as the marks on the proof. */
const INK: Readonly<Record<OddsKind, readonly [number, number, number]>> = {
  uncleared: [0.045, 0.19, 0.33],
  scorched: [0.42, 0.1, 0.02],
};

let last: { sure: HowSure; kind: OddsKind; surface: ProofSurface } | null = null;

/** The picture as a map of how likely each place stays uncleared or scorches; null until that is known. */
function oddsSurface(record: ProofRecord, kind: OddsKind): ProofSurface | null {
  const { sure, coarse } = record;
  if (!sure || !coarse) return null;
  if (last?.sure === sure && last.kind === kind) return last.surface;
  const map = { ...sure.map, values: sure.map[kind] };
  const surface = mapSurface(record, `${record.id}-odds-${kind}`, map, INK[kind]);
  last = { sure, kind, surface };
  return surface;
}

/** The slab's photographed face for the view, decoded off the page's thread; null while it is not shown, or not yet there. */
function useWoodPhoto(slab: Slab): WoodPhoto | null {
  const wanted = shownPhoto(slab);
  const file = wanted?.file ?? null;
  const [decoded, setDecoded] = useState<{ file: string; image: ImageBitmap } | null>(null);
  useEffect(() => {
    const bytes = file === null ? undefined : photoBytes(file);
    if (file === null || !bytes) return;
    let gone = false;
    let image: ImageBitmap | null = null;
    const blob = new Blob([bytes as BlobPart]);
    inBackground(
      shrinkPhoto(blob, { premultiplyAlpha: 'none', colorSpaceConversion: 'none' }).then((bitmap) => {
        if (gone) bitmap?.close();
        else if (bitmap) {
          image = bitmap;
          setDecoded({ file, image: bitmap });
        }
      }),
    );
    return () => {
      gone = true;
      setDecoded(null);
      // The view lets go of it in the render that follows.
      setTimeout(() => image?.close());
    };
  }, [file]);
  const image = decoded?.file === file ? decoded?.image : undefined;
  const { xMm = 0, yMm = 0, widthMm = 1, heightMm = 1 } = wanted ?? {};
  return useMemo(
    () => (image ? { image, centreXMm: xMm, centreYMm: yMm, widthMm, heightMm } : null),
    [image, xMm, yMm, widthMm, heightMm],
  );
}
