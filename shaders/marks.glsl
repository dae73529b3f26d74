// Marks laid over the burned picture: a lattice of dots (what is left dark) or crosses (what is scorched) that is fixed to the slab, each
// as large as the share of its surroundings that it stands for, as the dots of a newspaper are, and never so small that it is missed.
// Spacing stays about the same on the screen, by cross-fading between octaves of the lattice (E. Praun, H. Hoppe, M. Webb, A.
// Finkelstein, "Real-time hatching", SIGGRAPH 2001: coherence by blending levels instead of moving marks).

// Shares from which on there is a mark, and where it is as large as its place allows (estimates).
const float LEAST_SHARE = 0.004;
const float MOST_SHARE = 0.35;

// Size of a mark over its spacing, 0 where there is none.
float markSize(float share) {
  return share < LEAST_SHARE ? 0.0 : mix(0.26, 0.46, sqrt(clamp((share - LEAST_SHARE) / (MOST_SHARE - LEAST_SHARE), 0.0, 1.0)));
}

// Distance from a place to the edge of a dot and of a cross, negative inside.
float dotEdge(vec2 p, float size) {
  return length(p) - size;
}

float crossEdge(vec2 p, float size) {
  vec2 q = abs(vec2(p.x + p.y, p.x - p.y)) * 0.7071;
  float arm = 0.36 * size;
  return min(max(q.x - arm, q.y - size), max(q.y - arm, q.x - size));
}

// Ink of a mark, and of the line round it that parts it from what lies beneath.
vec2 inkOf(float edge, float pixel, float size) {
  float there = step(1e-6, size);
  float core = 1.0 - smoothstep(-0.6 * pixel, 0.6 * pixel, edge);
  float rim = 1.0 - smoothstep(0.6 * pixel, 1.8 * pixel, edge);
  return there * vec2(core, rim);
}

// Lays ink over lit light; it is itself lit only a little, so that it reads in the dark as well.
vec3 layInk(vec3 under, vec3 tint, vec2 ink, float brightness) {
  float lit = 0.45 + 0.55 * brightness;
  vec3 rimmed = mix(under, vec3(0.012, 0.009, 0.007), 0.85 * ink.y);
  return mix(rimmed, tint * lit, ink.x);
}
