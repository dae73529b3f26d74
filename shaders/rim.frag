// The slab's rim where no paint is. BARK: somewhere bark runs round it, from the wood over the dark line of young wood (cambium) and
// the bast to the furrowed crust. SAWN: somewhere it is sawn and eased.
// WOOD_PHOTO: its colours are the photograph's, seen from above; down the side, which no photograph shows, its outermost ones go on.

in vec3 vPlace;
in vec3 vUp;
in vec3 vEdge; // how far out (0 paint, 1 widest, 2 foot), bark, way along the outline as a share of it
out vec4 outColor;

uniform sampler2D uCoat;
uniform sampler2D uBark;  // slopes round and along the trunk, height
uniform vec2 uBarkTile;   // its size round and along the trunk, mm
uniform float uBarkWay;   // mm of bark once round the slab
#ifdef WOOD_PHOTO
uniform sampler2D uWoodPhoto;
uniform vec4 uWoodPlace;  // west, north, width, height in mm
in vec2 vAbove;           // the place on the photograph, mm
#endif
uniform vec3 uWood;
uniform float uThickness;

const float BARK_MM = 4.2;
const vec3 CAMBIUM = vec3(0.105, 0.058, 0.03);
const vec3 BAST = vec3(0.27, 0.16, 0.085);
const vec3 FURROW = vec3(0.066, 0.04, 0.024);
const vec3 PLATE = vec3(0.215, 0.155, 0.108);
const vec3 LICHEN = vec3(0.275, 0.235, 0.18);

#ifdef WOOD_PHOTO
const vec3 LUMA = vec3(0.2126, 0.7152, 0.0722);
// Luminance of the bark drawn here, mean: what its furrows and plates are lighter or darker than.
const float BARK_LUMA = 0.13;
// What of the rim's colours goes on down the side, mm.
const float GOES_ON_MM = 2.5;
#endif

void main() {
  float out_ = vEdge.x;
  float way = vEdge.z * uBarkWay;
  float down = -vPlace.y;

  vec3 tangent = normalize(vec3(vUp.z, 0.0, -vUp.x) + vec3(1e-4, 0.0, 0.0));
  vec3 over = cross(tangent, vUp);
  vec3 albedo = uWood;
  vec3 normal = vUp;
  float hollow = 1.0;
  float relief = 1.0;
#ifdef WOOD_PHOTO
  // Seen from above the photograph has its own light and shade.
  float side = smoothstep(0.96, 1.12, out_);
  relief = mix(0.3, 1.0, side);
#endif
  float bark = 0.0;

  vec4 speck = texture(uCoat, vec2(way / 9.0, (min(out_, 1.0) * BARK_MM + down) / 9.0));
#ifdef SAWN
  albedo *= sawnWood(uCoat, vPlace, vUp, way);
#else
  albedo *= 0.94 + 0.12 * speck.a;
#endif
  normal -= (tangent * (speck.x - 0.5) + over * (speck.y - 0.5)) * 0.12;

#ifdef BARK
  float overMm = min(out_, 1.0) * BARK_MM + max(out_ - 1.0, 0.0) * uThickness;
#ifdef PLANK
  vec4 crust = texture(uBark, vec2(overMm, way) / uBarkTile);
  vec2 tilt = crust.yx;
#else
  vec4 crust = texture(uBark, vec2(way, overMm) / uBarkTile);
  vec2 tilt = crust.xy;
#endif
  vec4 mood = texture(uCoat, vec2(way / 72.0, overMm / 60.0));
  // Layers from the wood outwards; their borders waver a little.
  float layer = out_ + (speck.a - 0.5) * 0.05 + (mood.a - 0.5) * 0.05;
  float cambium = smoothstep(0.27, 0.31, layer) * vEdge.y;
  float bast = smoothstep(0.35, 0.4, layer);
  bark = smoothstep(0.5, 0.66, layer + 0.12 * (crust.a - 0.5)) * vEdge.y;
  // Young wood is paler.
  albedo *= mix(vec3(1.0), vec3(1.06, 1.05, 1.0), vEdge.y * smoothstep(0.0, 0.25, layer));
  albedo = mix(albedo, mix(CAMBIUM, BAST * (0.7 + 0.6 * speck.a), bast), cambium);
  vec3 plate = mix(PLATE, LICHEN, smoothstep(0.55, 0.8, mood.a)) * (0.7 + 0.6 * speck.a);
  float ridge = smoothstep(0.2, 0.72, crust.a);
  albedo = mix(albedo, mix(FURROW, plate, ridge), bark);
  hollow = mix(1.0, 0.42 + 0.58 * ridge, bark);
  tilt -= 0.5;
  normal -= (tangent * tilt.x + over * tilt.y) * (2.2 * bark * relief);
  normal -= (tangent * (speck.x - 0.5) + over * (speck.y - 0.5)) * (0.7 * bark * relief);
#endif
#ifdef WOOD_PHOTO
  vec2 woodUv = (vAbove - uWoodPlace.xy) / uWoodPlace.zw;
  float blur = log2(max(GOES_ON_MM * float(textureSize(uWoodPhoto, 0).x) / uWoodPlace.z, 1.0));
  float tone = dot(albedo, LUMA) / mix(dot(uWood, LUMA), BARK_LUMA, bark);
  vec3 goesOn = textureLod(uWoodPhoto, woodUv, blur).rgb * clamp(tone, 0.4, 1.6);
  albedo = mix(texture(uWoodPhoto, woodUv).rgb, goesOn, side);
  hollow = mix(1.0, hollow, relief);
#endif
  normal = normalize(normal);

  vec3 toLamp = toLampFrom(vPlace);
  float foot = smoothstep(-0.1, 1.0, 1.0 - down / uThickness);
  float openness = (0.5 + 0.5 * normal.y) * mix(0.45, 1.0, foot) * hollow;
  float low = 1.0 - toLamp.y;
  float entering = 1.0 - low * low * low * low * low;
  // Light that grazes the slab must not burn out what happens to face it.
  float facing = max(dot(normal, toLamp), 0.0) * entering * mix(1.0, hollow, 0.6);
  // The table throws light back, warm as it is: the room's everywhere, the lamp's where the slab's shadow does not lie.
  vec3 lamp = lampIrradiance(vPlace);
  float litSide = smoothstep(-0.3, 0.9, dot(normal.xz, toLamp.xz));
  vec3 bounce = vec3(0.36, 0.33, 0.29) * (uDomeLight + lamp * toLamp.y * litSide) * hollow * (0.5 - 0.5 * normal.y);
  vec3 light = albedo * (uDomeLight * openness + bounce + lamp * facing);
  outColor = toScreen(light);
}
