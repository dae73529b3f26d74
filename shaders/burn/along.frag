#version 300 es
// Energy per length along the row, J/mm, at the middles of four parts of a dot: the beam's profile along the row over what the source
// gives (`rowExposure` in src/physics/raster/exposure.ts).
precision highp float;
precision highp int;
precision highp sampler2D;
precision highp isampler2D;
precision highp usampler2D;

uniform sampler2D uCommand;
uniform isampler2D uSpans;
// Steps of focus of the dots of the command, by raster row.
uniform usampler2D uSteps;
// Weights of four parts by place, kind (box, rise, fall), direction, step and quad of parts.
uniform sampler2D uAlong;
uniform int uPass;
// Raster row of the target's first; the command begins `uHalf` dots before it.
uniform int uFirstRow;
uniform int uRasterRows;
uniform int uHalf;
uniform int uStepCount;
uniform int uQuads;
uniform int uQuad;
uniform bool uLate;
uniform float uPerFeed;

out vec4 energy;

vec4 weights(int kind, int direction, int focus, int at) {
  return texelFetch(uAlong, ivec2(at, ((kind * 2 + direction) * uStepCount + focus) * uQuads + uQuad), 0);
}

int stepAt(int at, int row) { return uStepCount > 1 ? int(texelFetch(uSteps, ivec2(at, row), 0).r) : 0; }

void main() {
  ivec2 here = ivec2(gl_FragCoord.xy);
  energy = vec4(0.0);
  int row = uFirstRow + here.y;
  if (row < 0 || row >= uRasterRows) return;
  int direction = texelFetch(uSpans, ivec2(uPass, row), 0).b;
  int focus = stepAt(here.x + uHalf, row);
  for (int place = 0; place <= 2 * uHalf; place++) {
    ivec2 there = here + ivec2(place, 0);
    vec2 command = texelFetch(uCommand, there, 0).rg;
    int at = 2 * uHalf - place;
    if (command.x != 0.0) energy += command.x * weights(0, direction, focus, at);
    if (uLate && command.y != 0.0) energy += command.y * weights(command.y < 0.0 ? 1 : 2, direction, stepAt(there.x, row), at);
  }
  energy *= uPerFeed;
}
