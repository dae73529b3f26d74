// How much of the lights each place sees, from a few shadow maps at a time; drawn once per batch and added up.
//
// L. Williams, "Casting curved shadows on curved surfaces", SIGGRAPH 1978 (shadow maps); P. Haeberli, K. Akeley, "The accumulation
// buffer: hardware support for high-quality rendering", SIGGRAPH 1990 (a lamp of some size as many small ones, summed).

uniform sampler2D uPlaces;
uniform sampler2D uNormals;
uniform sampler2DArrayShadow uMaps;
uniform mat4 uToMap[BATCH];
uniform vec3 uToward[BATCH];
// Red: share of the lamp seen. Green: irradiance from the window. Blue: irradiance from the room. Alpha: share of the room seen.
uniform vec4 uShare[BATCH];
uniform int uCount;
uniform float uTexelMm;
out vec4 outSeen;

void main() {
  ivec2 pixel = ivec2(gl_FragCoord.xy);
  vec4 place = texelFetch(uPlaces, pixel, 0);
  vec3 normal = texelFetch(uNormals, pixel, 0).xyz;
  vec4 sum = vec4(0.0);
  for (int i = 0; i < BATCH; i++) {
    if (i >= uCount) break;
    float facing = dot(normal, uToward[i]);
    // Off the surface by about a texel, more where the light grazes it.
    vec3 off = normal * uTexelMm * (1.1 + 1.5 * (1.0 - clamp(facing, 0.0, 1.0)));
    vec4 at = uToMap[i] * vec4(place.xyz + off, 1.0);
    vec3 map = at.xyz * 0.5 + 0.5;
    float lit = texture(uMaps, vec4(map.xy, float(i), map.z - 0.0004));
    lit = any(lessThan(map.xy, vec2(0.0))) || any(greaterThan(map.xy, vec2(1.0))) ? 1.0 : lit;
    float up = max(facing, 0.0);
    lit *= step(0.0, facing);
    vec4 share = uShare[i];
    sum += lit * vec4(share.r, share.g * up, share.b * up, share.a);
  }
  outSeen = sum * step(0.5, place.w);
}
