/**
 * The burn of one pass, cell by cell. Written in the subset that `build/kernel-glsl.ts` translates (see DEVELOPERS.md, "Kernels"); called
 * directly, the same functions are the float64 reference.
 *
 * Law, per crossing and layer (threshold and specific energy; derived here from the energy balance, no published source for the whole):
 *   take z = clip((A·E − Eth) / q, 0, left)
 *   a film thinner than Eth/q lets the share 1 − left·q/Eth of the dose through, so that the law has no jump as it vanishes;
 *   of a dose above the threshold it lets E − f·min(E, (Eth + q·left)/A) go past it, f = min(1, left·q/Eth); the next layer is burned
 *   with no more than 3·(E − what just clears), so that its burn starts from nothing at the dose that just clears.
 * Thin films: a film of thickness u takes up the share 1 − exp(−u/δ) of the light only (Lambert and Beer), and gives way as long as that
 * outweighs what conduction carries off, which is spread over the crossing as the threshold is over its dose: with τ = Eth/(A·E)
 *   du = −(1 − τ − s·exp(−u/δ))·A/q·dE,  so  u' = δ·ln(s' + (exp(u/δ) − s')·exp(−z/δ)),  s' = s/(1 − τ), z as above;
 * it stops at u = δ·ln s', and is cleared at z = δ·ln((exp(u/δ) − s')/(1 − s')) if s' < 1. A film that is thick against δ loses z, and so does
 * any for δ = 0. s = 0.985: a little of the light heats even the thinnest film, by way of the coat below. Held against the finer model in test/reference/thin-films.test.ts.
 * Touched skin: where an earlier pass has taken something off the layer that a pass finds, it takes up g times as much: charred, rough, porous.
 * By and by over the first half µm; g = 1 makes no difference.
 * A absorptance, E incident dose of the crossing [J/mm²], Eth absorbed threshold dose [J/mm²], q specific energy [J/mm³].
 *
 * Pulsed light: take z = c·ln(A·E / Eth)^1.5, the sum of 1/α_eff·ln(F / Fth) over the pulses of a crossing (derivation in
 * physics/material/layers.ts); what clears a film is then Eth·exp((left/c)^(2/3)).
 * Checked in test/reference/common-practice.test.ts, test/property/burn.test.ts and test/parity/burn.test.ts.
 */
export interface KernelThis {
  readonly thread: { readonly x: number; readonly y: number; readonly z: number };
}
type Plane = ArrayLike<ArrayLike<number>>;

/** Share s' of the light that the thinnest film lets go by, over what conduction leaves; at most 1000. */
export function lostShare(absorbed: number, threshold: number): number {
  return 0.985 / Math.max(0.000985, 1 - threshold / absorbed);
}

/** Depth z in µm by the law of a thick film that clears one of `leftUm`; endless where the light that is lost keeps it from clearing. */
export function thickDepthUm(leftUm: number, thinUm: number, lost: number): number {
  if (thinUm <= 0) {
    return leftUm;
  }
  if (lost >= 1) {
    return 1000000;
  }
  return leftUm + thinUm * Math.log((1 - lost * Math.exp(-leftUm / thinUm)) / (1 - lost));
}

/** Depth in µm that one crossing takes from a layer with `leftUm` left. */
export function biteUm(
  dose: number,
  absorptance: number,
  threshold: number,
  specificEnergy: number,
  leftUm: number,
  pulseUm: number,
  thinUm: number,
): number {
  const absorbed = absorptance * dose;
  if (absorbed <= threshold) {
    return 0;
  }
  let depth = ((absorbed - threshold) / specificEnergy) * 1000;
  if (pulseUm > 0) {
    depth = pulseUm * Math.log(absorbed / threshold) ** 1.5;
  }
  const lost = lostShare(absorbed, threshold);
  if (depth >= thickDepthUm(leftUm, thinUm, lost)) {
    return leftUm;
  }
  if (thinUm > 0) {
    const open = 1 - lost * Math.exp(-leftUm / thinUm);
    if (open <= 0) {
      return 0;
    }
    // u' as above, without exponentials of thick films.
    const rest = leftUm - depth + thinUm * Math.log(open);
    depth = leftUm - rest;
    if (rest < 30 * thinUm) {
      depth = leftUm - thinUm * Math.log(lost + Math.exp(rest / thinUm));
    }
  }
  return depth;
}

/** Absorbed dose in J/mm² that takes a depth off a thick layer. */
export function clearingDose(threshold: number, specificEnergy: number, depthUm: number, pulseUm: number): number {
  if (pulseUm > 0) {
    return threshold * Math.exp((depthUm / pulseUm) ** 0.6666667);
  }
  return threshold + specificEnergy * depthUm * 0.001;
}

/** Thickness in µm down to which a film stops the whole dose: Eth/q, pulsed c. */
export function opaqueDepthUm(threshold: number, specificEnergy: number, pulseUm: number): number {
  if (pulseUm > 0) {
    return pulseUm;
  }
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
 * weights[focus · phases + phase][tap]: line profile 1/mm at the middle of each of `phases` equal parts of a row pitch, per step of focus.
 * thickness[coat · rows + row][column]: µm, topmost coat first. layers[layer][0..5]: A, Eth, q, c of pulses (0: none), δ of thin films, g of touched skin; wood last.
 * ground[k · rows + row][column]: k = 0 factor on every threshold (heat, dwell), 1 the wood's A, 2 factor on the wood's Eth and q
 * (density), 3 step of focus.
 * The raster place of a fine cell: row = rowOrigin + rowPerX·x' + rowPerY·y, row r covering r … r + 1; columns likewise, in columns of
 * `exposure`. Of the subY fine cells of a column, each further one lies `stride` parts of subY further on, x' = x + shift, wrapped
 * round within −½ … ½: so a few places tell of a cell both across the rows and along them (a lattice of rank one; 0: all in line).
 */
export function burnCell(
  this: KernelThis,
  before: Plane,
  depthBefore: Plane,
  depthAfter: Plane,
  exposure: Plane,
  weights: Plane,
  thickness: Plane,
  ground: Plane,
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
  stride: number,
): number {
  const x = this.thread.x;
  const y = this.thread.y;
  const cellX = Math.floor((x + 0.5) / subX);
  const cellY = Math.floor((y + 0.5) / subY);

  const turns = ((y - cellY * subY - 0.5 * (subY - 1)) * stride) / subY;
  const placeX = x + turns - Math.floor(turns + 0.5);
  const rowPlace = rowOrigin + rowPerX * placeX + rowPerY * y;
  const rowBase = Math.floor(rowPlace);
  const phase = Math.floor((rowPlace - rowBase) * phases);
  const columnPlace = columnOrigin + columnPerX * placeX + columnPerY * y;
  const column = Math.floor(columnPlace);
  const fraction = columnPlace - column;
  const firstRow = rowBase - Math.floor(taps / 2);

  const cold = ground[cellY][cellX];
  const woodAbsorptance = ground[thicknessRows + cellY][cellX];
  const woodDensity = ground[2 * thicknessRows + cellY][cellX];
  const profile = Math.floor(ground[3 * thicknessRows + cellY][cellX] + 0.5) * phases + phase;

  const firstCoat = coats > 0 ? thickness[cellY][cellX] : 0;
  let depth = depthBefore[y][x];
  let excess = before[y][x];
  // A film that takes more than it needs to clear, for the light that it loses, is never thicker than δ afterwards.
  const openUm = Math.max(opaqueDepthUm(cold * layers[0][1], layers[0][2], layers[0][3]), layers[0][4]);
  if (wanted > 0.5 && depthAfter[y][x] < firstCoat - openUm) {
    return excess;
  }

  let layer = 0;
  let top = 0;
  let bottom = firstCoat;
  for (let i = 0; i < coats; i++) {
    if (layer === i && depth >= bottom) {
      layer = i + 1;
      top = bottom;
      if (layer < coats) {
        bottom += thickness[layer * thicknessRows + cellY][cellX];
      }
    }
  }
  let heavy = layer < coats ? 1 : woodDensity;
  const touched = 1 + (layers[layer][5] - 1) * Math.min(1, 2 * (depth - top));
  let absorptance = (layer < coats ? layers[layer][0] : woodAbsorptance) * touched;
  let threshold = layers[layer][1] * cold * heavy;
  let specificEnergy = layers[layer][2] * heavy;
  let pulseUm = layers[layer][3];
  let thinUm = layers[layer][4];
  let opaqueUm = opaqueDepthUm(threshold, specificEnergy, pulseUm);

  for (let tap = 0; tap < taps; tap++) {
    const row = firstRow + tap;
    const weight = weights[profile][tap];
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
        const bite = biteUm(dose, absorptance, threshold, specificEnergy, left, pulseUm, thinUm);
        const used = clearingDose(threshold, specificEnergy, left, pulseUm) / absorptance;
        const past = dose - share * Math.min(dose, used);
        if (bite < left) {
          depth += bite;
          if (layer === 0 && coats > 0) {
            excess += past;
          }
          break;
        }
        const thick = thickDepthUm(left, thinUm, lostShare(absorptance * dose, threshold));
        const price = clearingDose(threshold, specificEnergy, thick, pulseUm) / absorptance;
        if (layer === 0) {
          excess += past;
        }
        dose = Math.min(past, 3 * (dose - price));
        depth = bottom;
        layer += 1;
        if (layer < coats) {
          bottom += thickness[layer * thicknessRows + cellY][cellX];
        }
        heavy = layer < coats ? 1 : woodDensity;
        absorptance = layer < coats ? layers[layer][0] : woodAbsorptance;
        threshold = layers[layer][1] * cold * heavy;
        specificEnergy = layers[layer][2] * heavy;
        pulseUm = layers[layer][3];
        thinUm = layers[layer][4];
        opaqueUm = opaqueDepthUm(threshold, specificEnergy, pulseUm);
      }
    }
  }
  const passed = keepExcess(excess);
  if (wanted > 0.5) {
    return passed;
  }
  return depth;
}
