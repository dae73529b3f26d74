// One lamp of small extent over the table and an even room light.
// Irradiances are ratios: 1 makes a matte surface look like its own colour.

uniform vec3 uLampPlace;
uniform vec3 uLampLight;
uniform vec3 uDomeLight;
// Square of the lamp's distance from the slab's centre.
uniform float uLampDistance2;

vec3 toLampFrom(vec3 place) {
  return normalize(uLampPlace - place);
}

// Falls off with distance, but less than a bare bulb's inverse square: a lamp with a wide shade, aimed at the slab, which must not
// burn out the table nearest to it. At the slab's centre it is uLampLight.
vec3 lampIrradiance(vec3 place) {
  vec3 way = uLampPlace - place;
  float square = dot(way, way) / uLampDistance2;
  float aimed = dot(way, uLampPlace) * inversesqrt(square) / uLampDistance2;
  return uLampLight * (smoothstep(0.1, 0.95, aimed) / (0.45 + 0.55 * square));
}
