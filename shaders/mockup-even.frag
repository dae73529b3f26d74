// Where the four cells of the light's grid round a place lie on one surface, so that light may simply be blended between them.

uniform sampler2D uPlaces;
uniform sampler2D uNormals;
out vec4 outEven;

const float FLAT_MM = 0.25; // farthest that cells of one surface lie off each other's planes
const float ALIKE = 0.97;   // cosine between their normals

void main() {
  ivec2 here = ivec2(gl_FragCoord.xy);
  ivec2 last = textureSize(uPlaces, 0) - 1;
  vec4 place = texelFetch(uPlaces, here, 0);
  vec3 normal = texelFetch(uNormals, here, 0).xyz;
  float even = place.w;
  for (int i = 1; i < 4; i++) {
    ivec2 cell = min(here + ivec2(i & 1, i >> 1), last);
    vec4 there = texelFetch(uPlaces, cell, 0);
    vec3 facing = texelFetch(uNormals, cell, 0).xyz;
    vec3 way = there.xyz - place.xyz;
    float off = max(abs(dot(normal, way)), abs(dot(facing, way)));
    even *= there.w * step(off, FLAT_MM) * step(ALIKE, dot(normal, facing));
  }
  outEven = vec4(step(0.5, even));
}
