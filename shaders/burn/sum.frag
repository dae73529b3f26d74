#version 300 es
// Counts of all tiles of a band, in a few lines that are summed up apart; the last of all values is a maximum.
precision highp float;
precision highp int;
precision highp sampler2DArray;

// Sixteen values a tile, by group and layer (shaders/burn/count.frag).
uniform sampler2DArray uCounts;
uniform ivec2 uTiles;
uniform int uLines;

out vec4 total;

void main() {
  ivec2 place = ivec2(gl_FragCoord.xy);
  int group = place.x >> 2;
  int layer = place.x & 3;
  bool last = place.x == 15;
  total = vec4(0.0);
  for (int y = place.y; y < uTiles.y; y += uLines) {
    for (int x = 0; x < uTiles.x; x++) {
      vec4 counts = texelFetch(uCounts, ivec3(4 * x + group, y, layer), 0);
      total = last ? vec4(total.xyz + counts.xyz, max(total.w, counts.w)) : total + counts;
    }
  }
}
