#version 300 es
// Counts of all tiles of a band, in a few lines that are summed up apart; the deepest place is the largest.
precision highp float;
precision highp int;
precision highp sampler2DArray;

// Five groups a tile, four values by layer (shaders/burn/count.frag).
uniform sampler2DArray uCounts;
uniform ivec2 uTiles;
uniform int uLines;

out vec4 total;

void main() {
  ivec2 place = ivec2(gl_FragCoord.xy);
  int group = place.x >> 2;
  int layer = place.x & 3;
  bool deepest = place.x == 17;
  total = vec4(0.0);
  for (int y = place.y; y < uTiles.y; y += uLines) {
    for (int x = 0; x < uTiles.x; x++) {
      vec4 counts = texelFetch(uCounts, ivec3(5 * x + group, y, layer), 0);
      total = deepest ? max(total, counts) : total + counts;
    }
  }
}
