// One cell: all its places, all passes in order, and what comes out of it, as `burnSwath` and `reduceSwath` in src/burn/swath.ts have it.
// The law itself is put in, made from src/burn/kernel/burn.kernel.ts, and asks for its planes here; a cell's places are
// counted from the cell's own first, so that single precision is enough. COATS, PASSES, places of a cell (SUB_X by
// SUB_Y, STRIDE), PARTS of a dot and TAPS (0: passes differ), and constants of the TypeScript come before.

struct Pass {
  // Raster row and dot of the energy's first, where its values begin and how many a line has.
  firstRow: i32, firstDot: i32, energyAt: i32, energyLine: i32,
  parts: i32, weightsRow: i32, taps: i32, phases: i32,
  // Columns and rows of older heat (0: none), of near heat; directions, rows mixed.
  olderColumns: i32, olderRows: i32, nearColumns: i32, nearRows: i32,
  directions: i32, mixed: i32,
  rowPerY: f32, columnPerX: f32,
  // An even factor; dots and rows of a bin of heat.
  cold: f32, dotsPerBin: f32, rowsPerBin: f32, nearDots: f32,
}
struct Numbers {
  // First row of cells, how many, and their row in the planes; size of the picture; second plane from the first.
  firstCell: i32, rows: i32, toRow: i32, width: i32,
  planeX: i32, planeY: i32, colorRows: i32, bins: i32,
  binUm: f32, nominalUm: f32, scorchAbsorptance: f32, scorchOnset: f32,
  perExcess: f32, harmlessExcess: f32, pad0: f32, pad1: f32,
  passes: array<Pass, PASSES>,
}
@group(0) @binding(0) var<uniform> n: Numbers;
// Films from the topmost down (COATS layers), height of the bare face, the wood's density, shade and absorptance.
@group(0) @binding(1) var ground: texture_2d_array<f32>;
// 1 in the picture, 2 also meant to open; step of focus.
@group(0) @binding(2) var marks: texture_2d_array<u32>;
// Energy of the rows that reach the band, by pass, row, dot and part of a dot.
@group(0) @binding(3) var<storage, read> energy: array<f32>;
// Line weights of all passes, their layers, and where the rows and columns of cells lie in each: whole number, rest.
@group(0) @binding(4) var weights: texture_2d<f32>;
@group(0) @binding(5) var layers: texture_2d<f32>;
@group(0) @binding(6) var places: texture_2d<f32>;
// Heat of rows long past and of the last ones, by pass.
@group(0) @binding(7) var older: texture_2d_array<f32>;
@group(0) @binding(8) var near: texture_2d_array<f32>;
// First dot, one past the last, 1 backwards; by pass and raster row.
@group(0) @binding(9) var spans: texture_2d<i32>;
// Colours by what is left and excess dose, over clear wood and over a knot.
@group(0) @binding(10) var colors: texture_2d_array<f32>;
// What is left per µm by layer, then factors of focus by pass and step.
@group(0) @binding(11) var<storage, read> scales: array<f32>;
// Three planes: colour; height (two bytes, low first) and left dark; scorch (two bytes) and burned through.
@group(0) @binding(12) var planes: texture_storage_2d<rgba8unorm, write>;
@group(0) @binding(13) var<storage, read_write> counts: array<atomic<u32>, 128>;

const RESIDUE_LOW = 64u;
const RESIDUE_HIGH = 65u;
const SCORCHED = 66u;
const UNCLEARED = 67u;
const OPEN = 68u;
const DEEPEST = 69u;
const UNSOUND = 70u;
const TALLIES = 71u;
// Parts of a µm that residue is summed up in.
const RESIDUE_PARTS = 1024.0;

var<workgroup> tally: array<atomic<u32>, 128>;

fn warmFactor(warmthK: f32) -> f32 { return max(LOWEST_FACTOR, 1.0 - warmthK / DECOMPOSITION_RISE_K); }

// `between` of swath.ts: which two neighbours, and how far from the first.
struct Between { first: i32, share: f32 }
fn placeBetween(count: i32, at: f32) -> Between {
  let first = min(count - 2, max(0, i32(floor(at))));
  return Between(first, min(f32(count) - 0.5, max(-0.5, at)) - f32(first));
}

fn heatAlong(map: texture_2d_array<f32>, count: i32, pass_: i32, line: i32, at: f32) -> f32 {
  if (count == 1) { return textureLoad(map, vec2i(0, line), pass_, 0).r; }
  let two = placeBetween(count, at);
  let a = textureLoad(map, vec2i(two.first, line), pass_, 0).r;
  return max(0.0, a + (textureLoad(map, vec2i(two.first + 1, line), pass_, 0).r - a) * two.share);
}

// `warmthAt` of swath.ts.
fn warmthAt(pass_: i32, u: f32, v: f32, row: i32) -> f32 {
  let rows = n.passes[pass_].olderRows;
  var direction = 0;
  if (row < i32(textureDimensions(spans).y)) { direction = textureLoad(spans, vec2i(pass_, max(0, row)), 0).b; }
  let first = select(0, direction * rows, n.passes[pass_].directions == 2);
  let across = v / n.passes[pass_].rowsPerBin - 0.5;
  let y = min(max(across, 0.0), f32(rows - 1));
  let y0 = min(rows - 1, i32(floor(y)));
  let y1 = min(rows - 1, y0 + 1);
  let along = u / n.passes[pass_].dotsPerBin - 0.5;
  let columns = n.passes[pass_].olderColumns;
  let above = heatAlong(older, columns, pass_, first + y0, along);
  let below = heatAlong(older, columns, pass_, first + y1, along);
  let old = (above + (below - above) * (y - f32(y0))) * min(1.0, max(0.0, 1.0 + 2.0 * across));
  let line = min(n.passes[pass_].nearRows - 1, max(0, row));
  return old + heatAlong(near, n.passes[pass_].nearColumns, pass_, line, u / n.passes[pass_].nearDots - 0.5);
}

// Factor on thresholds of a cell that one pass finds.
fn coldOf(pass_: i32, cell: vec2i, focus: i32) -> f32 {
  let cold = n.passes[pass_].cold * scales[COATS + 1 + pass_ * FOCUS_STEPS + focus];
  if (n.passes[pass_].olderColumns == 0) { return cold; }
  let row = textureLoad(places, vec2i(cell.y, 2 * pass_), 0).rg;
  let column = textureLoad(places, vec2i(cell.x, 2 * pass_ + 1), 0).rg;
  let v = row.x + (row.y + n.passes[pass_].rowPerY * (0.5 * f32(SUB_Y) - 0.5));
  let part = column.x + (column.y + n.passes[pass_].columnPerX * (0.5 * f32(SUB_X) - 0.5));
  let u = (part + 0.5) / f32(n.passes[pass_].parts) + f32(n.passes[pass_].firstDot);
  let at = i32(floor(v));
  var own = warmthAt(pass_, u, v, at);
  if (n.passes[pass_].mixed == 1) { own = 0.5 * (own + warmthAt(pass_, u, v, at + 1)); }
  return cold * warmFactor(own);
}

// What the law asks for: the place under way, its cell and the pass.
var<private> threadX: f32;
var<private> threadY: f32;
var<private> lawPass: i32;
var<private> lawParts: i32;
var<private> lawFirst: i32;
var<private> lawLine: i32;
var<private> lawWeights: i32;
var<private> lawFilm: vec4f;
var<private> lawGround: vec4f;
var<private> lawDepth: f32;
var<private> lawExcess: f32;
var<private> lawKept: f32;

fn pick(values: vec4f, at: f32) -> f32 {
  return select(select(values.w, values.z, at < 2.5), select(values.y, values.x, at < 0.5), at < 1.5);
}
fn thicknessAt(coat: f32, column: f32) -> f32 { return pick(lawFilm, coat); }
fn groundAt(kind: f32, column: f32) -> f32 { return pick(lawGround, kind); }
fn beforeAt(y: f32, x: f32) -> f32 { return lawExcess; }
fn depthBeforeAt(y: f32, x: f32) -> f32 { return lawDepth; }
fn depthAfterAt(y: f32, x: f32) -> f32 { return 0.0; }
fn layersAt(layer: f32, column: f32) -> f32 {
  return textureLoad(layers, vec2i(i32(column), lawPass * (COATS + 1) + i32(layer)), 0).r;
}
fn weightsAt(profile: f32, tap: f32) -> f32 {
  return textureLoad(weights, vec2i(i32(tap), lawWeights + i32(profile)), 0).r;
}
fn exposureAt(row: f32, column: f32) -> f32 { return energy[lawFirst + i32(row) * lawLine + i32(column)]; }
fn keepExcess(excess: f32) -> f32 {
  lawKept = excess;
  return excess;
}

// LAW

fn scorchLevel(absorbed: f32, onset: f32) -> f32 {
  let over = absorbed - onset;
  return select(1.0 - exp(-over / (3.0 * max(onset, 1e-6))), 0.0, over <= 0.0);
}

// `appearanceIndex` of src/physics/material/appearance.ts.
fn colorPlace(layer: i32, rest: f32, excess: f32) -> vec2i {
  let place = rest * scales[layer];
  let column = select(i32(sqrt(max(0.0, place)) * f32(COLOR_COLUMNS - 1) + 0.5), COLOR_COLUMNS - 1, place >= 1.0);
  var row = 0;
  if (excess > n.harmlessExcess) {
    let dose = excess * n.perExcess;
    row = select(i32(sqrt(dose) * f32(n.colorRows - 1) + 0.5), n.colorRows - 1, dose >= 1.0);
  }
  return vec2i(column, row * (COATS + 1) + layer);
}

fn srgbCode(linear: f32) -> f32 {
  let stepped = floor(clamp(linear, 0.0, 1.0) * 8192.0 + 0.5) / 8192.0;
  let encoded = select(1.055 * pow(stepped, 1.0 / 2.4) - 0.055, 12.92 * stepped, stepped <= 0.0031308);
  return floor(255.0 * encoded + 0.5);
}

// `toHalfFloat` of src/base/half-float.ts.
fn halfBits(value: f32) -> u32 {
  let word = bitcast<u32>(value);
  let sign = (word >> 16u) & 0x8000u;
  let magnitude = word & 0x7fffffffu;
  if (magnitude > 0x7f800000u) { return sign | 0x7e00u; }
  if (magnitude >= 0x47800000u) { return sign | 0x7c00u; }
  if (magnitude < 0x38800000u) {
    let shift = 126u - (magnitude >> 23u);
    if (shift > 24u) { return sign; }
    return sign | ((((magnitude & 0x7fffffu) | 0x800000u) + (1u << (shift - 1u))) >> shift);
  }
  return sign | ((magnitude - 0x38000000u + 0x1000u) >> 13u);
}

fn bytesOf(bits: u32, third: f32) -> vec4f { return vec4f(f32(bits & 255u) / 255.0, f32(bits >> 8u) / 255.0, third, 1.0); }

@compute @workgroup_size(32, 8)
fn main(@builtin(global_invocation_id) id: vec3u, @builtin(local_invocation_index) own: u32) {
  if (own < TALLIES) { atomicStore(&tally[own], 0u); }
  workgroupBarrier();
  if (i32(id.x) < n.width && i32(id.y) < n.rows) { burn(vec2i(id.xy)); }
  workgroupBarrier();
  if (own >= TALLIES) { return; }
  let sum = atomicLoad(&tally[own]);
  if (sum == 0u) { return; }
  if (own == DEEPEST) {
    atomicMax(&counts[own], sum);
  } else if (own == RESIDUE_LOW) {
    let before = atomicAdd(&counts[RESIDUE_LOW], sum);
    if (before + sum < before) { atomicAdd(&counts[RESIDUE_HIGH], 1u); }
  } else {
    atomicAdd(&counts[own], sum);
  }
}

fn burn(here: vec2i) {
  let cell = vec2i(here.x, n.firstCell + here.y);
  var total = 0.0;
  var film = vec4f(0.0);
  for (var i = 0; i < COATS; i++) {
    let thickness = textureLoad(ground, cell, i, 0).r;
    film = select(film, vec4f(thickness), vec4i(0, 1, 2, 3) == vec4i(i));
    total += thickness;
  }
  lawFilm = film;
  let bareUm = textureLoad(ground, cell, COATS, 0).r;
  let density = textureLoad(ground, cell, COATS + 1, 0).r;
  let shade = min(1.0, max(PALEST, textureLoad(ground, cell, COATS + 2, 0).r));
  let woodAbsorptance = textureLoad(ground, cell, COATS + 3, 0).r;
  var focus = 0;
  if (FOCUS_STEPS > 1) { focus = i32(textureLoad(marks, cell, 1, 0).r); }
  var cold: array<f32, PASSES>;
  for (var i = 0; i < PASSES; i++) { cold[i] = coldOf(i, cell, focus); }

  var light = vec3f(0.0);
  var left = vec4f(0.0);
  var wood = 0.0;
  var passed = 0.0;
  var removed = 0.0;
  var deepest = 0.0;
  for (var place = 0; place < SUB_X * SUB_Y; place++) {
    threadY = f32(place / SUB_X);
    threadX = f32(place % SUB_X);
    lawDepth = 0.0;
    lawExcess = 0.0;
    for (var i = 0; i < PASSES; i++) {
      lawPass = i;
      lawGround = vec4f(cold[i], woodAbsorptance, density, f32(focus));
      let row = textureLoad(places, vec2i(cell.y, 2 * i), 0).rg;
      let column = textureLoad(places, vec2i(cell.x, 2 * i + 1), 0).rg;
      lawLine = n.passes[i].energyLine;
      lawFirst = n.passes[i].energyAt + (i32(row.x) - n.passes[i].firstRow) * lawLine + i32(column.x);
      lawWeights = n.passes[i].weightsRow;
      lawDepth = burnCell(0.0, f32(COATS), 1.0, f32(SUB_X), f32(SUB_Y), f32(n.passes[i].phases),
        select(f32(n.passes[i].taps), f32(TAPS), TAPS > 0), row.y, 0.0, n.passes[i].rowPerY, column.y, n.passes[i].columnPerX, 0.0,
        f32(STRIDE));
      lawExcess = lawKept;
    }
    var layer = 0;
    var rest = lawDepth;
    while (layer < COATS && rest >= pick(film, f32(layer))) {
      rest -= pick(film, f32(layer));
      layer++;
    }
    if (layer < COATS) {
      rest = pick(film, f32(layer)) - rest;
      let kinds = vec4i(0, 1, 2, 3);
      left += select(select(vec4f(0.0), film, kinds > vec4i(layer)), vec4f(rest), kinds == vec4i(layer));
    } else {
      wood += rest;
    }
    let at = colorPlace(layer, rest, lawExcess);
    let clear = textureLoad(colors, at, 0, 0).rgb;
    if (shade == 0.0) { light += clear; } else { light += clear + shade * (textureLoad(colors, at, 1, 0).rgb - clear); }
    passed += lawExcess;
    removed += lawDepth;
    deepest = max(deepest, lawDepth);
  }
  let perPlace = 1.0 / f32(SUB_X * SUB_Y);
  let residue = left.x * perPlace;
  let woodUm = wood * perPlace;
  var scorch = 0.0;
  if (COATS >= 2) {
    scorch = max(scorchLevel(n.scorchAbsorptance * passed * perPlace, n.scorchOnset), select(0.0, 1.0, woodUm > THROUGH_UM));
  }
  let aim = textureLoad(marks, cell, 0, 0).r;
  let heightUm = bareUm + total - n.nominalUm;
  let deep = -heightUm - CRACK_UM;
  var seen = perPlace;
  if (deep > 0.0) { seen = perPlace / (1.0 + deep / HALF_DARK_UM); }
  let uncleared = aim == 2u && residue > CLEARED_RESIDUE_UM;
  let to = vec2i(here.x, n.toRow + here.y);
  let codes = vec3f(srgbCode(light.r * seen), srgbCode(light.g * seen), srgbCode(light.b * seen));
  textureStore(planes, to, vec4f(codes / 255.0, 1.0));
  let next = vec2i(n.planeX, n.planeY);
  textureStore(planes, to + next, bytesOf(halfBits(heightUm - removed * perPlace), select(0.0, 1.0, uncleared)));
  let scorchBits = select(0u, halfBits(scorch), scorch > 0.0);
  textureStore(planes, to + 2 * next, bytesOf(scorchBits, select(0.0, 1.0, woodUm > THROUGH_UM)));

  if (!(abs(light.r + light.g + light.b + passed + removed + total) < 1e30)) { atomicAdd(&tally[UNSOUND], 1u); }
  atomicMax(&tally[DEEPEST], bitcast<u32>(deepest));
  if (scorch >= SEEN_THROUGH) { atomicAdd(&tally[OPEN], 1u); }
  if (aim == 0u) { return; }
  if (scorch >= SCORCHED_LEVEL) { atomicAdd(&tally[SCORCHED], 1u); }
  if (aim != 2u) { return; }
  if (uncleared) { atomicAdd(&tally[UNCLEARED], 1u); }
  atomicAdd(&tally[min(u32(n.bins - 1), u32(residue / n.binUm))], 1u);
  atomicAdd(&tally[RESIDUE_LOW], u32(residue * RESIDUE_PARTS + 0.5));
}
