// Marks drawn on the surface: diagonal hatching whose spacing stays about the same on the screen, by cross-fading between
// octaves of a hatching that is fixed to the slab (E. Praun, H. Hoppe, M. Webb, A. Finkelstein, "Real-time hatching", SIGGRAPH
// 2001: coherence by blending levels instead of moving strokes).

float hatchLevel(float across, float spacing, float pixel) {
  float place = abs(fract(across / spacing) - 0.5) * spacing;
  float halfWidth = max(0.17 * spacing, 0.6 * pixel);
  return 1.0 - smoothstep(halfWidth - 0.6 * pixel, halfWidth + 0.6 * pixel, place);
}

// `across` is the distance across the strokes, `pixel` the size of a pixel, both mm.
float hatching(float across, float pixel, float spacingPx) {
  float octave = log2(max(pixel * spacingPx, 1e-4));
  float whole = floor(octave);
  float near = exp2(whole);
  return mix(hatchLevel(across, near, pixel), hatchLevel(across, near * 2.0, pixel), smoothstep(0.3, 0.7, octave - whole));
}

// Lays a mark of some strength over lit light; the mark itself is lit only a little, so it reads in the dark as well.
vec3 layMark(vec3 under, vec3 mark, float strength, float stroke, float brightness) {
  vec3 lit = mark * (0.45 + 0.55 * brightness);
  return mix(under, lit, strength * (0.3 + 0.58 * stroke));
}
