// Arithmetic as the law has it and nothing else: how long it takes tells a card from a processor that draws in its place.
@group(0) @binding(0) var<uniform> turns: vec4i;
@group(0) @binding(1) var<storage, read_write> pace: array<f32>;

@compute @workgroup_size(64) fn main(@builtin(global_invocation_id) id: vec3u) {
  var value = 1.0 + f32(id.x & 255u) * 0.001;
  for (var turn = 0; turn < turns.x; turn++) { value = 1.0 + log(value + exp(-value) * f32(id.x >> 8u)); }
  pace[id.x] = value;
}
