// Light of a mock-up: a lamp of some size, a window, the room, and what the surroundings throw back. Irradiances are ratios: 1 makes a matte
// surface look like its own colour.
//
// B. Walter, S. Marschner, H. Li, K. Torrance, "Microfacet models for refraction through rough surfaces", EGSR 2007 (GGX);
// E. Heitz, "Understanding the masking-shadowing function in microfacet-based BRDFs", JCGT 3(2), 2014 (height-correlated Smith term);
// C. Schlick, "An inexpensive BRDF model for physically-based rendering", Computer Graphics Forum 13(3), 1994.

uniform vec3 uEye;
uniform vec3 uLampPlace;
uniform float uLampReachMm; // distance at which the lamp's light is uLampLight
uniform vec3 uLampLight;
uniform vec3 uWindowWay;
uniform vec3 uWindowLight;
uniform vec3 uRoomLight;
uniform vec3 uBounce;
uniform sampler2D uSeen;
uniform sampler2D uPlaces;
uniform sampler2D uEven; // 1 where the four cells from here on lie on one surface
uniform vec4 uSeenScale; // what makes the sums over light samples shares: lamp, window, room, openness
uniform vec4 uTile; // left bottom corner and size of what is drawn, in pixels of the light's own grid over drawn pixels

const float PI = 3.14159265359;
const float MIRROR = 0.04;
const float OFF_PER_MM = 1.6; // how soon cells off a surface stop counting for it

struct Light {
  float lamp;   // share of the lamp that is seen
  float window; // irradiance from the window on the smooth surface, 0–1
  float room;   // irradiance from the room on it, 0–1
  float open;   // share of the room that is seen
};

// The light's grid is coarser than the picture: takes the cells round a pixel that lie on the same surface
// (J. Kopf, M. Cohen, D. Lischinski, M. Uyttendaele, "Joint bilateral upsampling", SIGGRAPH 2007).
Light lightAt(vec3 place, vec3 normal) {
  vec2 at = uTile.xy + gl_FragCoord.xy * uTile.zw - 0.5;
  ivec2 corner = ivec2(floor(at));
  ivec2 last = textureSize(uPlaces, 0) - 1;
  vec4 seen = textureLod(uSeen, (at + 0.5) / vec2(last + 1), 0.0);
  // A loop that is not entered costs nothing; a branch may.
  int cells = texelFetch(uEven, clamp(corner, ivec2(0), last), 0).r > 0.5 ? 0 : 16;
  float sum = cells == 0 ? 1.0 : 0.0;
  seen *= sum;
  for (int i = 0; i < cells; i++) {
    ivec2 step_ = ivec2(i & 3, i >> 2) - 1;
    ivec2 cell = clamp(corner + step_, ivec2(0), last);
    vec4 there = texelFetch(uPlaces, cell, 0);
    vec2 near = max(1.0 - 0.5 * abs(at - vec2(corner + step_)), 0.0);
    float off = abs(dot(normal, there.xyz - place));
    float weight = near.x * near.y * (there.w * exp(-off * OFF_PER_MM) + 1e-4);
    seen += weight * texelFetch(uSeen, cell, 0);
    sum += weight;
  }
  seen *= uSeenScale / sum;
  return Light(seen.r, seen.g, seen.b, seen.a);
}

float fresnel(float cosine) {
  float rest = clamp(1.0 - cosine, 0.0, 1.0);
  float square = rest * rest;
  return MIRROR + (1.0 - MIRROR) * square * square * rest;
}

// Reflection towards the eye for a unit irradiance on a facing surface, times the cosine to the light.
float gloss(vec3 normal, vec3 toLight, vec3 toEye, float alpha) {
  vec3 halfway = normalize(toLight + toEye);
  float nl = max(dot(normal, toLight), 0.0);
  float nv = max(dot(normal, toEye), 0.03);
  float nh = max(dot(normal, halfway), 0.0);
  float a2 = alpha * alpha;
  float spread = nh * nh * (a2 - 1.0) + 1.0;
  float density = a2 / (PI * spread * spread);
  float visible = 0.5 / max(nl * sqrt(nv * nv * (1.0 - a2) + a2) + nv * sqrt(nl * nl * (1.0 - a2) + a2), 1e-4);
  return PI * density * visible * fresnel(dot(toEye, halfway)) * nl;
}

// The room as a reflection sees it: light above, darker below, a window with a soft border.
vec3 roomMirrored(vec3 way, float alpha) {
  vec3 shade = mix(uBounce * 1.1, uRoomLight * 0.92, smoothstep(-0.35 - alpha, 0.35 + alpha, way.y));
  // The window is upright and has a cross bar; roughness blurs both away.
  vec3 across = normalize(cross(vec3(0.0, 1.0, 0.0), uWindowWay));
  vec3 up = cross(uWindowWay, across);
  float ahead = dot(way, uWindowWay);
  vec2 at = vec2(dot(way, across), dot(way, up)) / max(ahead, 0.05);
  float blur = 0.03 + 1.1 * alpha;
  vec2 edge = smoothstep(vec2(-blur), vec2(blur), vec2(0.3, 0.4) - abs(at));
  float bar = 1.0 - (1.0 - smoothstep(0.012, 0.03 + blur * 0.2, min(abs(at.x), abs(at.y + 0.06)))) * (1.0 - smoothstep(0.02, 0.12, alpha));
  // A blurred window spreads the same light.
  float spread = 0.48 / (0.48 + 3.0 * alpha * alpha);
  return shade + uWindowLight * 7.0 * spread * edge.x * edge.y * bar * step(0.05, ahead);
}

// Matte and mirrored light off a surface. `smooth_` is the normal the light was counted for, `normal` the one with its bumps.
vec3 lit(vec3 matte, float alpha, float mirror, vec3 place, vec3 smooth_, vec3 normal, Light light) {
  vec3 toEye = normalize(uEye - place);
  vec3 way = uLampPlace - place;
  float square = dot(way, way) / (uLampReachMm * uLampReachMm);
  vec3 toLamp = normalize(way);
  // A wide shade: falls off less than a bare bulb.
  vec3 lamp = uLampLight * (light.lamp / (0.5 + 0.5 * square));
  float facing = max(dot(normal, toLamp), 0.0);
  float windowFacing = clamp(dot(normal, uWindowWay), 0.0, 1.0) / max(dot(smooth_, uWindowWay), 0.12);
  vec3 window = uWindowLight * light.window * min(windowFacing, 2.0);
  float lean = clamp(0.85 + 0.15 * dot(normal, smooth_) + 0.5 * dot(normal - smooth_, vec3(0.0, 0.6, 0.8)), 0.3, 1.4);
  vec3 room = uRoomLight * light.room * lean;
  vec3 back = uBounce * mix(0.3 + 0.7 * light.open, 1.0, 0.2) * (0.62 - 0.38 * normal.y);
  vec3 sum = matte * (lamp * facing + window + room + back);
  if (mirror > 0.0) {
    vec3 shine = lamp * gloss(normal, toLamp, toEye, max(alpha, 0.045));
    vec3 reflected = reflect(-toEye, normal);
    float cosine = max(dot(normal, toEye), 0.0);
    float rest = 1.0 - cosine;
    float edge = rest * rest * rest * rest * rest;
    float share = MIRROR + (max(1.0 - sqrt(alpha), MIRROR) - MIRROR) * edge;
    shine += roomMirrored(reflected, alpha) * share * mix(light.open, 1.0, 0.15);
    // Glare is compressed as a camera's highlights are.
    shine /= 1.0 + 0.6 * shine.g * shine.g / (0.3 + shine.g);
    sum += mirror * shine;
  }
  return sum;
}
