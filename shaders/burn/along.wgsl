// Energy per length along the row, J/mm, at the middles of the parts of a dot: the beam's profile along the row over what the source
// gives (`rowExposure` in src/physics/raster/exposure.ts).
struct Numbers {
  firstRow: i32, dots: i32, rows: i32, rasterRows: i32,
  // The command begins `half` dots before.
  half: i32, steps: i32, parts: i32, quads: i32,
  pass_: i32, late: i32,
  // Where the pass's energies begin.
  energyAt: i32, perFeed: f32,
}

@group(0) @binding(0) var<uniform> n: Numbers;
@group(0) @binding(1) var<storage, read> command: array<vec2f>;
@group(0) @binding(2) var spans: texture_2d<i32>;
// Steps of focus of the dots of the command, by raster row.
@group(0) @binding(3) var steps: texture_2d<u32>;
// Weights of four parts by place, kind (box, rise, fall), direction, step and quad of parts.
@group(0) @binding(4) var along: texture_2d<f32>;
@group(0) @binding(5) var<storage, read_write> energy: array<f32>;

fn weights(kind: i32, direction: i32, focus: i32, quad: i32, at: i32) -> vec4f {
  return textureLoad(along, vec2i(at, ((kind * 2 + direction) * n.steps + focus) * n.quads + quad), 0);
}

fn stepAt(at: i32, row: i32) -> i32 {
  if (n.steps < 2) { return 0; }
  return i32(textureLoad(steps, vec2i(at, row), 0).r);
}

@compute @workgroup_size(64) fn main(@builtin(global_invocation_id) id: vec3u) {
  let here = vec2i(id.xy);
  if (here.x >= n.dots || here.y >= n.rows) { return; }
  let row = n.firstRow + here.y;
  let within = row >= 0 && row < n.rasterRows;
  var direction = 0;
  var focus = 0;
  if (within) {
    direction = textureLoad(spans, vec2i(n.pass_, row), 0).b;
    focus = stepAt(here.x + n.half, row);
  }
  let line = here.y * (n.dots + 2 * n.half) + here.x;
  for (var quad = 0; quad < n.quads; quad++) {
    var sum = vec4f(0.0);
    if (within) {
      for (var place = 0; place <= 2 * n.half; place++) {
        let given = command[line + place];
        let at = 2 * n.half - place;
        if (given.x != 0.0) { sum += given.x * weights(0, direction, focus, quad, at); }
        if (n.late == 1 && given.y != 0.0) {
          sum += given.y * weights(select(2, 1, given.y < 0.0), direction, stepAt(here.x + place, row), quad, at);
        }
      }
    }
    let to = n.energyAt + (here.y * n.dots + here.x) * n.parts + 4 * quad;
    for (var k = 0; k < min(4, n.parts - 4 * quad); k++) { energy[to + k] = n.perFeed * sum[k]; }
  }
}
