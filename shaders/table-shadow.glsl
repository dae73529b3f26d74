// Shadows of the slab on the table, in closed form. Places are mm on the table, the slab's centre at the origin.

uniform vec3 uSlabSize; // half width, half height, thickness
uniform float uOval;    // 1 for an oval slab, 0 for a rectangular one

// Distance to the outline, negative inside; for the ellipse the first-order estimate f / |grad f|
// (G. Taubin, "Distance approximations for rasterizing implicit curves", ACM TOG 13(1), 1994).
float outlineDistance(vec2 p) {
  if (uOval > 0.5) {
    vec2 q = p / uSlabSize.xy;
    float k = length(q);
    float g = length(q / uSlabSize.xy);
    return k * (k - 1.0) / max(g, 1e-6);
  }
  vec2 q = abs(p) - uSlabSize.xy + 4.0;
  return length(max(q, 0.0)) + min(max(q.x, q.y), 0.0) - 4.0;
}

// Share of the even dome that a wall as high as the slab hides at some distance: view factor from a small horizontal surface to a
// long wall, F = (1 - x / sqrt(x^2 + t^2)) / 2 (J. R. Howell, "A catalog of radiation heat transfer configuration factors").
float domeShare(vec2 p) {
  float x = max(outlineDistance(p), 0.0);
  float t = uSlabSize.z;
  return 1.0 - 0.5 * (1.0 - x / sqrt(x * x + t * t)) * 0.92;
}

// Distance to the slab's outline swept along the light's way: to the rectangle's sweep as a convex polygon (the rectangle's four
// sides moved out, and the two that the corners draw), to the ellipse's at the ray's nearest approach in the space where the ellipse
// is a circle. `behind` is how far along the ray the slab is.
float sweptDistance(vec2 p, vec2 sweep, out float behind) {
  if (uOval > 0.5) {
    vec2 q = p / uSlabSize.xy;
    vec2 e = sweep / uSlabSize.xy;
    float t = clamp(-dot(q, e) / max(dot(e, e), 1e-9), 0.0, 1.0);
    behind = t;
    return outlineDistance(p + sweep * t);
  }
  vec2 halfSize = uSlabSize.xy;
  vec2 sides = max(p - halfSize - max(-sweep, 0.0), -p - halfSize - max(sweep, 0.0));
  vec2 across = vec2(-sweep.y, sweep.x) / max(length(sweep), 1e-4);
  float beside = abs(dot(p, across)) - dot(halfSize, abs(across));
  behind = clamp(outlineDistance(p) / max(length(sweep), 1e-4), 0.0, 1.0);
  return max(max(sides.x, sides.y), beside);
}

// Share of the lamp that is seen past the slab: how near its ray passes the slab, measured against the lamp's apparent size at that
// distance. `lampSize` is the lamp's half size over its distance.
float lampShare(vec2 p, vec3 toLamp, float lampSize) {
  vec2 sweep = toLamp.xz * (uSlabSize.z / max(toLamp.y, 0.05));
  float behind;
  float miss = sweptDistance(p, sweep, behind);
  float blur = lampSize * behind * length(sweep) * 1.2 + 0.6;
  return smoothstep(-blur, blur, miss);
}
