// Sawn wood at any place of the slab, from the trunk it was cut from: cylinders of yearly growth round the trunk's middle, fibres
// along it. Ends then show arcs and long sides show lines without anyone drawing either
// (D. R. Peachey, "Solid texturing of complex surfaces", SIGGRAPH 1985). PLANK: the trunk ran along x, else it stood upright.

uniform vec2 uPith;    // the trunk's middle: x and z, of a plank z only
uniform float uRingMm; // mean width of a ring

// A plank is taken to be cut this far above the trunk's middle, as in the ground that the face shows.
const float PLANK_HEIGHT_MM = 40.0;

// From the trunk's middle to a place, across the trunk.
vec2 acrossTrunk(vec3 place) {
#ifdef PLANK
  return vec2(place.z - uPith.y, PLANK_HEIGHT_MM + place.y);
#else
  return place.xz - uPith;
#endif
}

// Share of latewood: rises over a ring and falls at once at the next spring; rings too narrow for the pixel average out.
float lateWood(sampler2D noise, float radius, vec2 wander) {
  // Coarse levels of the noise: growth bends smoothly.
  float warp = 5.0 * (textureLod(noise, wander, 3.5).a - 0.5);
  float years = (radius + warp) / uRingMm;
  years += 1.5 * (textureLod(noise, vec2(years / 37.0, 0.31), 3.0).a - 0.5);
  float part = fract(years);
  float late = smoothstep(0.35, 0.93, part) * (1.0 - smoothstep(0.95, 1.0, part));
  return mix(late, 0.35, smoothstep(0.3, 0.8, fwidth(years)));
}

// Tone of the wood over its mean on a facing cut: 1 on a face such as the slab's own. `round` is a way round the slab, mm.
vec3 sawnWood(sampler2D noise, vec3 place, vec3 facing, float round) {
  vec2 across = acrossTrunk(place);
  float radius = length(across);
#ifdef PLANK
  float late = lateWood(noise, radius, vec2(place.x / 260.0, place.z / 75.0));
  float fibre = texture(noise, vec2(place.x / 90.0, (place.y + place.z) / 5.0)).a;
  float pores = texture(noise, place.yz / 9.0).a;
  float ends = smoothstep(0.4, 0.85, abs(facing.x));
  vec3 longTone = vec3(0.985, 0.97, 0.945) * (1.04 - 0.14 * late) * (0.9 + 0.2 * fibre);
  // Cut fibres swallow light: end grain is darker and warmer, and its rings tell more.
  float rays = texture(noise, vec2(atan(across.x, across.y) * 34.0, radius / 41.0)).a;
  vec3 endTone = vec3(0.80, 0.75, 0.68) * (1.08 - 0.27 * late) * (0.86 + 0.2 * pores + 0.08 * rays);
#else
  float late = lateWood(noise, radius, place.xz / 110.0);
  float fibre = texture(noise, vec2(round / 6.0, place.y / 60.0)).a;
  float streak = texture(noise, vec2(round / 36.0, place.y / 210.0 + 0.4)).a;
  float pores = texture(noise, place.xz / 9.0).a;
  float ends = smoothstep(0.45, 0.85, abs(facing.y));
  vec3 longTone = vec3(1.0, 0.975, 0.94) * (1.02 - 0.1 * late) * (0.84 + 0.2 * fibre + 0.14 * streak);
  vec3 endTone = vec3(1.05 - 0.16 * late) * (0.93 + 0.12 * pores);
#endif
  return mix(longTone, endTone, ends);
}
