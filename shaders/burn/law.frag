// One cell: all its places, all passes in order, and what comes out of it, as `burnSwath` and `reduceSwath` in src/burn/swath.ts have it.
// The law itself is put before this, made from src/burn/kernel/burn.kernel.ts, and asks for its planes here; a cell's places are
// counted from the cell's own first, so that single precision is enough. COATS, PASSES, places of a cell (SUB_X by
// SUB_Y, STRIDE), PARTS of a dot and TAPS (0: passes differ) and constants of the TypeScript come before.

// Films from the topmost down (COATS layers), height of the bare face, the wood's density, shade and absorptance.
uniform sampler2DArray uGround;
// 1 in the picture, 2 also meant to open; step of focus.
uniform usampler2DArray uMarks;
// Energy of the rows that reach the band, by pass and quad of parts of a dot.
uniform sampler2DArray uEnergy;
// Line weights of all passes, their layers, and where the rows and columns of cells lie in each: whole number, rest.
uniform sampler2D uWeights;
uniform sampler2D uLayers;
uniform sampler2D uPlaces;
// Heat of rows long past and of the last ones, by pass.
uniform sampler2DArray uOlder;
uniform sampler2DArray uNear;
// First dot, one past the last, 1 backwards; by pass and raster row.
uniform isampler2D uSpans;
// Colours by what is left and excess dose, over clear wood and over a knot.
uniform sampler2DArray uColors;

struct Pass {
  // Raster row and dot of the energy's first texel.
  int firstRow;
  int firstDot;
  int parts;
  int weightsRow;
  int taps;
  int phases;
  float rowPerY;
  float columnPerX;
  // Heat: an even factor, columns and rows of older heat (0: none), of near heat, dots and rows of a bin, directions, rows mixed.
  float cold;
  ivec2 older;
  ivec2 near;
  vec3 bins;
  int directions;
  bool mixed;
};
uniform Pass uPasses[PASSES];
uniform int uFirstCell;
uniform float uNominalUm;
uniform vec2 uScorch;
uniform float uPerUm[COATS + 1];
uniform vec2 uExcess;
uniform int uColorRows;
uniform float uColdFactors[PASSES * FOCUS_STEPS];

layout(location = 0) out vec4 outColor;
// Two half floats, low byte first: height and scorch.
layout(location = 1) out vec4 outRelief;
// Residue of the topmost coat, deepest place (endless where something is no number), 1 scorched + 2 uncleared + 4 seen to be through.
layout(location = 2) out vec4 outFacts;
layout(location = 3) out float outThrough;

float warmFactor(float warmthK) { return max(LOWEST_FACTOR, 1.0 - warmthK / DECOMPOSITION_RISE_K); }

float olderAt(int pass, ivec2 at) {
  return texelFetch(uOlder, ivec3(at, pass), 0).r;
}

float nearAt(int pass, ivec2 at) {
  return texelFetch(uNear, ivec3(at, pass), 0).r;
}

// `between` of swath.ts: which two neighbours, and how far from the first.
float placeBetween(int count, float at, out int first) {
  first = min(count - 2, max(0, int(floor(at))));
  return min(float(count) - 0.5, max(-0.5, at)) - float(first);
}

float olderAlong(int pass, int line, float at) {
  int count = uPasses[pass].older.x;
  if (count == 1) return olderAt(pass, ivec2(0, line));
  int first;
  float share = placeBetween(count, at, first);
  float a = olderAt(pass, ivec2(first, line));
  return max(0.0, a + (olderAt(pass, ivec2(first + 1, line)) - a) * share);
}

float nearAlong(int pass, int line, float at) {
  int count = uPasses[pass].near.x;
  if (count == 1) return nearAt(pass, ivec2(0, line));
  int first;
  float share = placeBetween(count, at, first);
  float a = nearAt(pass, ivec2(first, line));
  return max(0.0, a + (nearAt(pass, ivec2(first + 1, line)) - a) * share);
}

// `warmthAt` of swath.ts.
float warmthAt(int pass, float u, float v, int row) {
  int rows = uPasses[pass].older.y;
  vec3 bins = uPasses[pass].bins;
  int direction = row < textureSize(uSpans, 0).y ? texelFetch(uSpans, ivec2(pass, max(0, row)), 0).b : 0;
  int first = uPasses[pass].directions == 2 ? direction * rows : 0;
  float across = v / bins.y - 0.5;
  float y = min(max(across, 0.0), float(rows - 1));
  int y0 = min(rows - 1, int(floor(y)));
  int y1 = min(rows - 1, y0 + 1);
  float along = u / bins.x - 0.5;
  float above = olderAlong(pass, first + y0, along);
  float below = olderAlong(pass, first + y1, along);
  float older = (above + (below - above) * (y - float(y0))) * min(1.0, max(0.0, 1.0 + 2.0 * across));
  return older + nearAlong(pass, min(uPasses[pass].near.y - 1, max(0, row)), u / bins.z - 0.5);
}

// Factor on thresholds of a cell that one pass finds.
float coldOf(int pass, ivec2 cell, int focus) {
  float cold = uPasses[pass].cold * uColdFactors[pass * FOCUS_STEPS + focus];
  if (uPasses[pass].older.x == 0) return cold;
  vec2 row = texelFetch(uPlaces, ivec2(cell.y, 2 * pass), 0).rg;
  vec2 column = texelFetch(uPlaces, ivec2(cell.x, 2 * pass + 1), 0).rg;
  float v = row.x + (row.y + uPasses[pass].rowPerY * (0.5 * float(SUB_Y) - 0.5));
  float part = column.x + (column.y + uPasses[pass].columnPerX * (0.5 * float(SUB_X) - 0.5));
  float u = (part + 0.5) / float(uPasses[pass].parts) + float(uPasses[pass].firstDot);
  int at = int(floor(v));
  float own = warmthAt(pass, u, v, at);
  return cold * warmFactor(uPasses[pass].mixed ? 0.5 * (own + warmthAt(pass, u, v, at + 1)) : own);
}

// What the law asks for: the place under way, its cell and the pass.
float threadX;
float threadY;
int lawPass;
ivec2 lawBase;
vec4 lawFilm;
vec4 lawGround;
float lawDepth;
float lawExcess;
float lawKept;

float pick(vec4 values, float at) { return at < 0.5 ? values.x : at < 1.5 ? values.y : at < 2.5 ? values.z : values.w; }
float thicknessAt(float coat, float column) { return pick(lawFilm, coat); }
float groundAt(float kind, float column) { return pick(lawGround, kind); }
float beforeAt(float y, float x) { return lawExcess; }
float depthBeforeAt(float y, float x) { return lawDepth; }
float depthAfterAt(float y, float x) { return 0.0; }
float layersAt(float layer, float column) {
  return texelFetch(uLayers, ivec2(int(column), lawPass * (COATS + 1) + int(layer)), 0).r;
}
float weightsAt(float profile, float tap) {
  return texelFetch(uWeights, ivec2(int(tap), uPasses[lawPass].weightsRow + int(profile)), 0).r;
}
float exposureAt(float row, float column) {
  int part = lawBase.x + int(column);
  // A division by what is known beforehand is a shift.
  int parts = PARTS > 0 ? PARTS : uPasses[lawPass].parts;
  int dot = part / parts;
  int within = part - dot * parts;
  ivec3 at = ivec3(dot, lawBase.y + int(row), QUADS * lawPass + (within >> 2));
  return texelFetch(uEnergy, at, 0)[within & 3];
}
float keepExcess(float excess) {
  lawKept = excess;
  return excess;
}

// LAW

float scorchLevel(float absorbed, float onset) {
  float over = absorbed - onset;
  return over <= 0.0 ? 0.0 : 1.0 - exp(-over / (3.0 * max(onset, 1e-6)));
}

// `appearanceIndex` of src/physics/material/appearance.ts.
ivec2 colorPlace(int layer, float rest, float excess) {
  float place = rest * uPerUm[layer];
  int column = place >= 1.0 ? COLOR_COLUMNS - 1 : int(sqrt(max(0.0, place)) * float(COLOR_COLUMNS - 1) + 0.5);
  int row = 0;
  if (excess > uExcess.y) {
    float dose = excess * uExcess.x;
    row = dose >= 1.0 ? uColorRows - 1 : int(sqrt(dose) * float(uColorRows - 1) + 0.5);
  }
  return ivec2(column, row * (COATS + 1) + layer);
}

float srgbCode(float linear) {
  float stepped = floor(clamp(linear, 0.0, 1.0) * 8192.0 + 0.5) / 8192.0;
  float encoded = stepped <= 0.0031308 ? 12.92 * stepped : 1.055 * pow(stepped, 1.0 / 2.4) - 0.055;
  return floor(255.0 * encoded + 0.5);
}

// `toHalfFloat` of src/base/half-float.ts.
uint halfBits(float value) {
  uint word = floatBitsToUint(value);
  uint sign = (word >> 16) & 0x8000u;
  uint magnitude = word & 0x7fffffffu;
  if (magnitude > 0x7f800000u) return sign | 0x7e00u;
  if (magnitude >= 0x47800000u) return sign | 0x7c00u;
  if (magnitude < 0x38800000u) {
    uint shift = 126u - (magnitude >> 23);
    if (shift > 24u) return sign;
    return sign | ((((magnitude & 0x7fffffu) | 0x800000u) + (1u << (shift - 1u))) >> shift);
  }
  return sign | ((magnitude - 0x38000000u + 0x1000u) >> 13);
}

vec2 bytesOf(uint bits) { return vec2(bits & 255u, bits >> 8) / 255.0; }

void main() {
  ivec2 cell = ivec2(gl_FragCoord.xy) + ivec2(0, uFirstCell);
  float total = 0.0;
  lawFilm = vec4(0.0);
  for (int i = 0; i < COATS; i++) {
    lawFilm[i] = texelFetch(uGround, ivec3(cell, i), 0).r;
    total += lawFilm[i];
  }
  float bareUm = texelFetch(uGround, ivec3(cell, COATS), 0).r;
  float density = texelFetch(uGround, ivec3(cell, COATS + 1), 0).r;
  float shade = min(1.0, max(PALEST, texelFetch(uGround, ivec3(cell, COATS + 2), 0).r));
  float woodAbsorptance = texelFetch(uGround, ivec3(cell, COATS + 3), 0).r;
  int focus = FOCUS_STEPS > 1 ? int(texelFetch(uMarks, ivec3(cell, 1), 0).r) : 0;
  float cold[PASSES];
  for (int pass = 0; pass < PASSES; pass++) cold[pass] = coldOf(pass, cell, focus);

  vec3 light = vec3(0.0);
  vec4 left = vec4(0.0);
  float wood = 0.0;
  float passed = 0.0;
  float removed = 0.0;
  float deepest = 0.0;
  for (int sy = 0; sy < SUB_Y; sy++) {
    for (int sx = 0; sx < SUB_X; sx++) {
      threadX = float(sx);
      threadY = float(sy);
      lawDepth = 0.0;
      lawExcess = 0.0;
      for (int pass = 0; pass < PASSES; pass++) {
        lawPass = pass;
        lawGround = vec4(cold[pass], woodAbsorptance, density, float(focus));
        vec2 row = texelFetch(uPlaces, ivec2(cell.y, 2 * pass), 0).rg;
        vec2 column = texelFetch(uPlaces, ivec2(cell.x, 2 * pass + 1), 0).rg;
        lawBase = ivec2(column.x, int(row.x) - uPasses[pass].firstRow);
        lawDepth = burnCell(0.0, float(COATS), 1.0, float(SUB_X), float(SUB_Y), float(uPasses[pass].phases),
          float(TAPS > 0 ? TAPS : uPasses[pass].taps), row.y, 0.0, uPasses[pass].rowPerY, column.y, uPasses[pass].columnPerX, 0.0,
          float(STRIDE));
        lawExcess = lawKept;
      }
      int layer = 0;
      float rest = lawDepth;
      while (layer < COATS && rest >= lawFilm[layer]) {
        rest -= lawFilm[layer];
        layer++;
      }
      if (layer < COATS) {
        rest = lawFilm[layer] - rest;
        left[layer] += rest;
        for (int i = layer + 1; i < COATS; i++) left[i] += lawFilm[i];
      } else {
        wood += rest;
      }
      ivec2 at = colorPlace(layer, rest, lawExcess);
      vec3 clear = texelFetch(uColors, ivec3(at, 0), 0).rgb;
      light += shade == 0.0 ? clear : clear + shade * (texelFetch(uColors, ivec3(at, 1), 0).rgb - clear);
      passed += lawExcess;
      removed += lawDepth;
      deepest = max(deepest, lawDepth);
    }
  }
  float perPlace = 1.0 / float(SUB_X * SUB_Y);
  float residue = COATS > 0 ? left.x * perPlace : 0.0;
  float woodUm = wood * perPlace;
  float scorch = COATS >= 2 ? max(scorchLevel(uScorch.x * passed * perPlace, uScorch.y), woodUm > THROUGH_UM ? 1.0 : 0.0) : 0.0;
  uint aim = texelFetch(uMarks, ivec3(cell, 0), 0).r;
  bool unsound = !(abs(light.r + light.g + light.b + passed + removed + total) < 1e30);
  float heightUm = bareUm + total - uNominalUm;
  float deep = -heightUm - CRACK_UM;
  float seen = perPlace * (deep > 0.0 ? 1.0 / (1.0 + deep / HALF_DARK_UM) : 1.0);
  vec3 codes = vec3(srgbCode(light.r * seen), srgbCode(light.g * seen), srgbCode(light.b * seen));
  float uncleared = aim == 2u && residue > CLEARED_RESIDUE_UM ? 1.0 : 0.0;
  outColor = vec4(codes / 255.0, uncleared);
  outRelief = vec4(bytesOf(halfBits(heightUm - removed * perPlace)), bytesOf(scorch > 0.0 ? halfBits(scorch) : 0u));
  float marks = (scorch >= SCORCHED_LEVEL ? 1.0 : 0.0) + 2.0 * uncleared + (scorch >= SEEN_THROUGH ? 4.0 : 0.0);
  outFacts = vec4(residue, unsound ? UNSOUND_UM : deepest, marks, 0.0);
  outThrough = woodUm > THROUGH_UM ? 1.0 : 0.0;
}
