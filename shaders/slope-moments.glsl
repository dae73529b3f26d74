// From a height field to the first and second moments of its slopes, once per cell; the mip levels of the result then hold the
// mean slope and the mean square slope of any footprint, from which the lost variance follows at every distance.
//
// M. Olano, D. Baker, "LEAN Mapping", I3D 2010, sections 3 and 4 (moments M1 and the diagonal of M2).
//
// Height comes in µm and cells in mm. Central differences; rows run south.

vec2 heightAndScorch(sampler2D relief, ivec2 cell, ivec2 last) {
  return texelFetch(relief, clamp(cell, ivec2(0), last), 0).rg;
}

// (slope to the east, slope to the south, their squares)
vec4 slopeMoments(sampler2D relief, ivec2 cell, ivec2 last, float cellMm) {
  float west = heightAndScorch(relief, cell - ivec2(1, 0), last).r;
  float east = heightAndScorch(relief, cell + ivec2(1, 0), last).r;
  float north = heightAndScorch(relief, cell - ivec2(0, 1), last).r;
  float south = heightAndScorch(relief, cell + ivec2(0, 1), last).r;
  vec2 span = vec2(min(cell + 1, last) - max(cell - 1, ivec2(0))) * cellMm * 1000.0;
  vec2 slope = vec2(east - west, south - north) / max(span, vec2(1e-3));
  return vec4(slope, slope * slope);
}
