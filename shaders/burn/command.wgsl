// What a source gives at each dot of a pass: watts as commanded, and what it is over them as the dot begins (`lagStarts` and
// `applyRamps` in src/physics/raster/exposure.ts). The lag is followed from so far back that what was before has died away in single
// precision: each dot by itself comes to what going along the row comes to.
struct Numbers {
  // First raster row and dot; dots of a line and lines.
  firstRow: i32, firstDot: i32, dots: i32, rows: i32,
  rasterColumns: i32, rasterRows: i32, rampDots: i32, pass_: i32,
  // Dots to go back, and what is left after one of them of too little and of too much.
  back: i32, leftRise: f32, leftFall: f32,
}

// Raster dots: level, mask. By pass and raster row: first dot, one past the last, 1 backwards.
@group(0) @binding(0) var<uniform> n: Numbers;
@group(0) @binding(1) var raster: texture_2d_array<u32>;
@group(0) @binding(2) var spans: texture_2d<i32>;
// Watts by level, factors by dots from a row's end; a line a pass.
@group(0) @binding(3) var watts: texture_2d<f32>;
@group(0) @binding(4) var ramps: texture_2d<f32>;
@group(0) @binding(5) var<storage, read_write> command: array<vec2f>;

fn commanded(x: i32, row: i32) -> f32 {
  if (x < 0 || x >= n.rasterColumns || textureLoad(raster, vec2i(x, row), 1, 0).r == 0u) { return 0.0; }
  return textureLoad(watts, vec2i(i32(textureLoad(raster, vec2i(x, row), 0, 0).r), n.pass_), 0).r;
}

@compute @workgroup_size(64) fn main(@builtin(global_invocation_id) id: vec3u) {
  let here = vec2i(id.xy);
  if (here.x >= n.dots || here.y >= n.rows) { return; }
  let at = here.y * n.dots + here.x;
  command[at] = vec2f(0.0);
  let row = n.firstRow + here.y;
  let dot = n.firstDot + here.x;
  if (row < 0 || row >= n.rasterRows) { return; }
  let span = textureLoad(spans, vec2i(n.pass_, row), 0).rgb;
  if (span.y <= span.x) { return; }
  let onwards = select(1, -1, span.z == 1);
  var given = 0.0;
  var over = 0.0;
  var state = 0.0;
  for (var back = n.back; back >= 0; back--) {
    given = commanded(dot - onwards * back, row);
    over = state - given;
    state = given + over * select(n.leftFall, n.leftRise, over < 0.0);
  }
  if (n.back == 0) { over = 0.0; }
  let fromEnd = min(dot - span.x, span.y - 1 - dot);
  let ramp = select(1.0, textureLoad(ramps, vec2i(fromEnd, n.pass_), 0).r, fromEnd >= 0 && fromEnd < n.rampDots);
  command[at] = ramp * vec2f(given, over);
}
