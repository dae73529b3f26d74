/**
 * The burn of one pass, cell by cell. Written in the subset that gpu.js translates (see DEVELOPERS.md, "Kernels"); called
 * directly, the same functions are the float64 reference.
 *
 * Law, per crossing and layer (threshold and specific energy; energy balance, physics notes in DEVELOPERS.md):
 *   take z = clip((A·E − Eth) / q, 0, left)
 *   a film thinner than Eth/q lets the share 1 − left·q/Eth of the dose through, so that the law has no jump as it vanishes;
 *   a film that is cleared lets E − f·(Eth + q·left)/A go past it, f = min(1, left·q/Eth); of that the next layer is burned with
 *   no more than 3·(E − (Eth + q·left)/A), so that its burn starts from nothing at the dose that just clears.
 * A absorptance, E incident dose of the crossing [J/mm²], Eth absorbed threshold dose [J/mm²], q specific energy [J/mm³].
 * Checked in test/reference/common-practice.test.ts, test/property/burn.test.ts and test/parity/burn.test.ts.
 */
export interface KernelThis {
  readonly thread: { readonly x: number; readonly y: number; readonly z: number };
}
type Plane = ArrayLike<ArrayLike<number>>;

/** Depth in µm that one crossing takes from a layer with `leftUm` left. */
export function biteUm(
  dose: number,
  absorptance: number,
  threshold: number,
  specificEnergy: number,
  leftUm: number,
): number {
  const depth = ((absorptance * dose - threshold) / specificEnergy) * 1000;
  if (depth <= 0) {
    return 0;
  }
  if (depth > leftUm) {
    return leftUm;
  }
  return depth;
}

/** Thickness in µm down to which a film stops the whole dose, Eth/q. */
export function opaqueDepthUm(threshold: number, specificEnergy: number): number {
  return (threshold / specificEnergy) * 1000;
}

/** Gives its argument back; where a backend can keep what a helper returned for each cell, this is where the second result comes from. */
export function keepExcess(excess: number): number {
  return excess;
}

/**
 * One fine cell after one pass. Returns the depth removed in µm (`wanted` 0) or the dose that has gone past the topmost coat in
 * J/mm² (`wanted` 1).
 *
 * before[y][x]: that same quantity before the pass; depthBefore and depthAfter[y][x]: the depth removed before and after it (the
 * latter is read for `wanted` 1 only: where the topmost coat stays opaque nothing has gone past it).
 * exposure[row][column]: energy per row length of each crossing, J/mm, rows in burn order.
 * weights[phase][tap]: line profile 1/mm at the middle of each of `phases` equal parts of a row pitch.
 * thickness[coat · rows + row][column]: µm, topmost coat first. layers[layer][0..2]: A, Eth, q; wood last.
 * The raster place of a fine cell: row = rowOrigin + rowPerX·x + rowPerY·y, row r covering r … r + 1; columns likewise.
 */
export function burnCell(
  this: KernelThis,
  before: Plane,
  depthBefore: Plane,
  depthAfter: Plane,
  exposure: Plane,
  weights: Plane,
  thickness: Plane,
  layers: Plane,
  wanted: number,
  coats: number,
  thicknessRows: number,
  subX: number,
  subY: number,
  phases: number,
  taps: number,
  rowOrigin: number,
  rowPerX: number,
  rowPerY: number,
  columnOrigin: number,
  columnPerX: number,
  columnPerY: number,
): number {
  const x = this.thread.x;
  const y = this.thread.y;
  const cellX = Math.floor((x + 0.5) / subX);
  const cellY = Math.floor((y + 0.5) / subY);

  const rowPlace = rowOrigin + rowPerX * x + rowPerY * y;
  const rowBase = Math.floor(rowPlace);
  const phase = Math.floor((rowPlace - rowBase) * phases);
  const columnPlace = columnOrigin + columnPerX * x + columnPerY * y;
  const column = Math.floor(columnPlace);
  const fraction = columnPlace - column;
  const firstRow = rowBase - Math.floor(taps / 2);

  const firstCoat = coats > 0 ? thickness[cellY][cellX] : 0;
  let depth = depthBefore[y][x];
  let excess = before[y][x];
  if (wanted > 0.5 && depthAfter[y][x] < firstCoat - opaqueDepthUm(layers[0][1], layers[0][2])) {
    return excess;
  }

  let layer = 0;
  let bottom = firstCoat;
  for (let i = 0; i < coats; i++) {
    if (layer === i && depth >= bottom) {
      layer = i + 1;
      if (layer < coats) {
        bottom += thickness[layer * thicknessRows + cellY][cellX];
      }
    }
  }
  let absorptance = layers[layer][0];
  let threshold = layers[layer][1];
  let specificEnergy = layers[layer][2];
  let opaqueUm = opaqueDepthUm(threshold, specificEnergy);

  for (let tap = 0; tap < taps; tap++) {
    const row = firstRow + tap;
    const weight = weights[phase][tap];
    let dose = exposure[row][column] * weight;
    if (fraction > 0.0001) {
      dose = dose * (1 - fraction) + exposure[row][column + 1] * weight * fraction;
    }
    if (layer > 0 || coats === 0) {
      excess += dose;
    } else if (absorptance * dose <= threshold && bottom - depth < opaqueUm) {
      // Too weak to take anything, but the film is thin enough to let some through.
      excess += dose * (1 - (bottom - depth) / opaqueUm);
    }
    if (absorptance * dose > threshold) {
      for (let step = layer; step <= coats; step++) {
        const left = layer < coats ? bottom - depth : 1000000;
        const share = left < opaqueUm ? left / opaqueUm : 1;
        const bite = biteUm(dose, absorptance, threshold, specificEnergy, left);
        if (bite < left) {
          depth += bite;
          if (layer === 0 && coats > 0) {
            excess += dose * (1 - share);
          }
          break;
        }
        const price = (threshold + specificEnergy * left * 0.001) / absorptance;
        const past = dose - share * price;
        if (layer === 0) {
          excess += past;
        }
        dose = Math.min(past, 3 * (dose - price));
        depth = bottom;
        layer += 1;
        if (layer < coats) {
          bottom += thickness[layer * thicknessRows + cellY][cellX];
        }
        absorptance = layers[layer][0];
        threshold = layers[layer][1];
        specificEnergy = layers[layer][2];
        opaqueUm = opaqueDepthUm(threshold, specificEnergy);
      }
    }
  }
  const passed = keepExcess(excess);
  if (wanted > 0.5) {
    return passed;
  }
  return depth;
}
