#version 300 es
// Arithmetic as the law has it and nothing else: how long it takes tells a card from a processor that draws in its place.
precision highp float;
precision highp int;

uniform int uTurns;

out vec4 pace;

void main() {
  float value = 1.0 + gl_FragCoord.x * 0.001;
  for (int turn = 0; turn < uTurns; turn++) value = 1.0 + log(value + exp(-value) * gl_FragCoord.y);
  pace = vec4(value);
}
