#version 300 es
// What a source gives at each dot of a pass: watts as commanded, and what it is over them as the dot begins (`lagStarts` and
// `applyRamps` in src/physics/raster/exposure.ts). The lag is followed from so far back that what was before has died away in single
// precision: each dot by itself comes to what going along the row comes to.
precision highp float;
precision highp int;
precision highp sampler2D;
precision highp isampler2D;
precision highp usampler2DArray;

// Raster dots: level, mask. By pass and raster row: first dot, one past the last, 1 backwards.
uniform usampler2DArray uDots;
uniform isampler2D uSpans;
// Watts by level, factors by dots from a row's end; a line a pass.
uniform sampler2D uWatts;
uniform sampler2D uRamps;
uniform int uPass;
// Raster dot under the target's first texel.
uniform ivec2 uFirst;
uniform ivec2 uRaster;
uniform int uRampDots;
// Dots to go back, and what is left after one of them of too little and of too much.
uniform int uBack;
uniform vec2 uLeft;

out vec2 command;

float commanded(ivec2 dot) {
  if (dot.x < 0 || dot.x >= uRaster.x || texelFetch(uDots, ivec3(dot, 1), 0).r == 0u) return 0.0;
  return texelFetch(uWatts, ivec2(int(texelFetch(uDots, ivec3(dot, 0), 0).r), uPass), 0).r;
}

void main() {
  ivec2 dot = uFirst + ivec2(gl_FragCoord.xy);
  command = vec2(0.0);
  if (dot.y < 0 || dot.y >= uRaster.y) return;
  ivec3 span = texelFetch(uSpans, ivec2(uPass, dot.y), 0).rgb;
  if (span.y <= span.x) return;
  int onwards = span.z == 1 ? -1 : 1;
  float watts = 0.0;
  float over = 0.0;
  float state = 0.0;
  for (int back = uBack; back >= 0; back--) {
    watts = commanded(dot - ivec2(onwards * back, 0));
    over = state - watts;
    state = watts + over * (over < 0.0 ? uLeft.x : uLeft.y);
  }
  if (uBack == 0) over = 0.0;
  command = vec2(watts, over);
  int fromEnd = min(dot.x - span.x, span.y - 1 - dot.x);
  if (fromEnd >= 0 && fromEnd < uRampDots) command *= texelFetch(uRamps, ivec2(fromEnd, uPass), 0).r;
}
