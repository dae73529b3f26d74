// How much of the lights each place sees, from a few shadow maps at a time; drawn once per batch and added up.
//
// L. Williams, "Casting curved shadows on curved surfaces", SIGGRAPH 1978 (shadow maps); P. Haeberli, K. Akeley, "The accumulation
// buffer: hardware support for high-quality rendering", SIGGRAPH 1990 (a lamp of some size as many small ones, summed).

uniform sampler2D uPlaces;
uniform sampler2D uNormals;
uniform sampler2DArrayShadow uMaps; // the outermost texels of a map are empty: what lies beyond is lit
uniform mat4 uToMap[BATCH];
uniform vec3 uToward[BATCH];
// Red: share of the lamp seen. Green: irradiance from the window. Blue: irradiance from the room. Alpha: share of the room seen.
uniform vec4 uShare[BATCH];
uniform float uTexelMm;
out vec4 outSeen;

vec4 seenFrom(vec3 place, vec3 normal, mat4 toMap, vec3 toward, vec4 share, float layer) {
  float facing = dot(normal, toward);
  float up = max(facing, 0.0);
  // Off the surface by about a texel, more where the light grazes it.
  vec3 off = normal * (uTexelMm * (2.6 - 1.5 * up));
  vec3 map = (toMap * vec4(place + off, 1.0)).xyz;
  float lit = texture(uMaps, vec4(map.xy, layer, map.z - 0.0004)) * step(0.0, facing);
  return lit * share * vec4(1.0, up, up, 1.0);
}

// ADD_ALL is this for every sample of the batch.
#define SEEN_FROM(I) seenFrom(place.xyz, normal, uToMap[I], uToward[I], uShare[I], float(I))

void main() {
  ivec2 pixel = ivec2(gl_FragCoord.xy);
  vec4 place = texelFetch(uPlaces, pixel, 0);
  vec3 normal = texelFetch(uNormals, pixel, 0).xyz;
  vec4 sum = vec4(0.0);
  ADD_ALL
  outSeen = sum * step(0.5, place.w);
}
