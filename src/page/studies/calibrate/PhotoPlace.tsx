import { DropZone } from 'react-aria-components';
import { applyHomography, fitHomography } from '../../../base/geometry/homography.ts';
import type { Point } from '../../../base/geometry/point.ts';
import type { Card } from '../../../vision/card/card.ts';
import { markCentres } from '../../../vision/card/geometry.ts';
import { droppedFiles } from '../../files/dropped-files.ts';
import { Handle } from '../../vision/slab/Handle.tsx';
import { Sheet } from '../../vision/slab/Sheet.tsx';
import { type CardPhoto, setCalibrate, useCalibrate } from './calibrate-store.ts';
import type { CardLooks } from './messages.ts';
import { moveCorner, openCardPhoto } from './read-actions.ts';
import '../../vision/slab/slab-photo.css';

const CORNERS = ['left top', 'right top', 'right bottom', 'left bottom'];

/** The photograph with the card's corners on it. */
export function PhotoPlace({ card }: { card: Card; looks: CardLooks }) {
  const photo = useCalibrate((state) => state.photo);
  return (
    <DropZone
      className="cal-drop"
      getDropOperation={() => 'copy'}
      onDrop={(event) => {
        droppedFiles(event.items).then(
          ([file]) => openCardPhoto(file),
          (error: Error) => setCalibrate({ fault: error.message }),
        );
      }}
    >
      {photo ? <Marked photo={photo} card={card} /> : <Empty />}
    </DropZone>
  );
}

function Marked({ photo, card }: { photo: CardPhoto; card: Card }) {
  const { width, height } = photo.bitmap;
  const view = { left: 0, top: 0, right: width, bottom: height };
  return (
    <Sheet label="The photograph of the card" view={view} picture={{ bitmap: photo.bitmap, quarters: 0, box: view }}>
      {photo.corners && (
        <>
          <svg className="sp-lines" viewBox={`0 0 ${width} ${height}`} aria-hidden="true">
            {outlines(photo.corners, card).map((points) => (
              <g key={points}>
                <polygon className="sp-line-under cal-thin" points={points} />
                <polygon className="sp-line cal-thin" points={points} />
              </g>
            ))}
          </svg>
          {photo.corners.map((corner, i) => (
            <Handle
              key={CORNERS[i]}
              label={`Corner mark, ${CORNERS[i]}`}
              at={corner}
              view={view}
              place={`${corner.map((px) => px.toFixed(0)).join(' across, ')} down`}
              step={1}
              shiftStep={10}
              onMove={(to) => moveCorner(photo, i, to)}
            />
          ))}
        </>
      )}
    </Sheet>
  );
}

/** The card's frame and its patches as they lie in the photo by the corners. */
function outlines(corners: readonly Point[], card: Card): string[] {
  try {
    const map = fitHomography(
      markCentres(card).map(([x, y]): Point => [x, y]),
      corners,
    );
    const at = (x: number, y: number) => (applyHomography(map, [x, y]) ?? [0, 0]).map((px) => px.toFixed(1)).join(',');
    const boxes = [
      { xMm: 0, yMm: 0, widthMm: card.widthMm, heightMm: card.heightMm },
      ...card.patches.map(({ box }) => box),
    ];
    return boxes.map(({ xMm: x, yMm: y, widthMm: w, heightMm: h }) =>
      [at(x, y), at(x + w, y), at(x + w, y + h), at(x, y + h)].join(' '),
    );
  } catch {
    return [];
  }
}

const Empty = () => (
  <div className="cal-paper cal-empty">
    <h3>Photograph the card from straight above</h3>
    <p>
      So that it fills most of the picture, in focus, in shade or by a window, without flash and glare. All four corner
      marks must be seen. A scan does as well.
    </p>
    <p>Open the photograph, or drop it here. It stays on this computer.</p>
  </div>
);
