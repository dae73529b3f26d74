#version 300 es
// Counts of a tile of cells, sixteen values a fragment, five of them a tile: four of light cells by residue, and one of sums: of light
// cells' residue, scorched cells of the picture, uncleared ones, burned through; and the deepest place.
precision highp float;
precision highp int;
precision highp sampler2D;
precision highp usampler2DArray;

uniform sampler2D uFacts;
uniform usampler2DArray uMarks;
uniform int uFirstCell;
uniform ivec2 uCells;
uniform int uTile;
uniform int uBins;
uniform float uBinUm;

layout(location = 0) out vec4 out0;
layout(location = 1) out vec4 out1;
layout(location = 2) out vec4 out2;
layout(location = 3) out vec4 out3;

const vec4 FOUR = vec4(0.0, 1.0, 2.0, 3.0);

void main() {
  ivec2 place = ivec2(gl_FragCoord.xy);
  int group = place.x % 5;
  ivec2 from = ivec2(place.x / 5, place.y) * uTile;
  ivec2 to = min(from + uTile, uCells);
  vec4 counts[4] = vec4[4](vec4(0.0), vec4(0.0), vec4(0.0), vec4(0.0));
  vec4 sums = vec4(0.0);
  float deepest = 0.0;
  vec4 first = FOUR + float(16 * group);
  for (int y = from.y; y < to.y; y++) {
    for (int x = from.x; x < to.x; x++) {
      vec4 facts = texelFetch(uFacts, ivec2(x, y), 0);
      uint aim = texelFetch(uMarks, ivec3(x, uFirstCell + y, 0), 0).r;
      // 1 scorched, 2 uncleared, 4 burned through.
      int marks = int(facts.z);
      deepest = facts.y > deepest ? facts.y : deepest;
      sums += vec4(aim == 2u ? facts.x : 0.0, aim > 0u ? float(marks & 1) : 0.0, float(marks >> 1 & 1), float(marks >> 2));
      if (aim < 2u) continue;
      vec4 bin = vec4(min(float(uBins - 1), floor(facts.x / uBinUm)));
      for (int i = 0; i < 4; i++) counts[i] += vec4(equal(bin, first + float(4 * i)));
    }
  }
  out0 = group == 4 ? sums : counts[0];
  out1 = group == 4 ? vec4(deepest) : counts[1];
  out2 = counts[2];
  out3 = counts[3];
}
