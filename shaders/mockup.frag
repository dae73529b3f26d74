// What the things of a mock-up are made of. One of PLASTER, BOARD, GLAZE, MATTE, PAGES, LIQUID, FACE, RIM, BACK, GLOW is defined.

centroid in vec3 vPlace;
centroid in vec3 vNormal;
centroid in vec3 vOwn;
centroid in vec3 vOwnNormal;
centroid in vec2 vUv;
centroid in vec3 vTangent;
out vec4 outColor;

uniform mat4 uModel;
uniform vec3 uColor;
uniform float uAlpha;
uniform float uBoardMm;    // width of the boards that a wooden thing is glued up from
uniform sampler2D uNoise; // height, its slopes right and down, another height
uniform vec2 uFade;       // distance from the middle at which the surroundings start to fade, and where they end, mm
uniform vec3 uBackdrop;

#ifdef FACE
uniform sampler2D uFaceColor;
uniform sampler2D uFaceSlopes; // slopes east and south round 0.5, their squares, roughness
#ifdef BURN
uniform sampler2D uBurnedColor;
uniform sampler2D uBurnedSlopes;
uniform vec4 uRow;    // row of the pass from a place on the slab: start, per mm east, per mm south; the row being burned
uniform vec4 uColumn; // the same for columns; how far the head is
uniform vec2 uRowDone; // 1 where the row is burned towards growing columns, 0 towards falling; its glow
#endif
#endif
#ifdef RIM
uniform sampler2D uRimColor;
uniform sampler2D uRimNormal;
#endif

const float SLOPE_RANGE = 0.3;

// Wood sawn along x: growth rings cut nearly along the trunk (long, closing lines), fibres, short dark pores.
vec3 boardColor(vec3 own, vec3 facing, out float height) {
  bool end = abs(facing.x) > 0.7;
  vec2 at = end ? own.zy : vec2(own.x, abs(facing.y) > 0.5 ? own.z : own.y + 37.0);
  // Glued up from boards, each from another place of the log.
  float number = floor(at.y / uBoardMm + 0.5);
  float seam = abs(at.y / uBoardMm + 0.5 - number - 0.5) * uBoardMm;
  at.y -= number * uBoardMm;
  vec4 other = textureLod(uNoise, vec2(number * 0.377, 0.71), 0.0);
  at.x += 1900.0 * fract(number * 0.618);
  float flip = mod(number, 2.0) < 0.5 ? 1.0 : -1.0;
  // The trunk bends slowly: how far the cut is from its middle, along the board.
  float bend = textureLod(uNoise, vec2(at.x / 5200.0, 0.13), 2.0).a - 0.5;
  float slow = textureLod(uNoise, vec2(at.x / 3400.0 + 0.41, at.y / 900.0), 2.0).r - 0.5;
  float off = flip * at.y - 60.0 * (other.r - 0.5) + 90.0 * bend;
  float under = 30.0 + 90.0 * other.a;
  float radius = end ? length(at + vec2(25.0, 190.0)) : sqrt(off * off + under * under) + 14.0 * slow;
  float years = radius / 5.2;
  years += 1.6 * (textureLod(uNoise, vec2(years / 31.0, 0.2), 1.0).r - 0.5);
  float part = fract(years);
  float late = smoothstep(0.1, 0.85, part) * (1.0 - smoothstep(0.86, 1.0, part));
  late = mix(late, 0.45, smoothstep(0.2, 0.55, fwidth(years)));
  float fibre = texture(uNoise, vec2(at.x / 420.0, at.y / 6.5)).r;
  float fine = texture(uNoise, vec2(at.x / 150.0, at.y / 2.3) + 0.5).a;
  float pores = smoothstep(0.62, 0.8, texture(uNoise, vec2(at.x / 240.0, at.y / 3.4) + 0.21).a) * (0.25 + 0.75 * (1.0 - late));
  float tone = 1.05 - 0.1 * late + 0.16 * (fibre - 0.5) + 0.1 * (fine - 0.5) + 0.3 * slow + 0.2 * (other.g - 0.5) + 0.14 * (other.r - 0.5);
  tone *= mix(1.0, 0.72, (1.0 - smoothstep(0.25, 0.7, seam)) * (1.0 - smoothstep(0.3, 0.9, fwidth(seam) * 0.5)));
  height = fibre * 0.4 - pores;
  vec3 warm = mix(vec3(1.0), vec3(0.97, 0.92, 0.84), late * 0.7 + 0.8 * slow);
  return tone * warm * (1.0 - 0.2 * pores) * (end ? 0.72 : 1.0);
}

void main() {
  vec3 smooth_ = normalize(vNormal);
  vec3 normal = smooth_;
  vec3 matte = uColor;
  float alpha = uAlpha;
  float mirror = 1.0;

#ifdef PLASTER
  // Rolled wall paint: fine stipple, and a little unevenness of the wall.
  vec2 on = abs(smooth_.y) > 0.7 ? vPlace.xz : vPlace.xy;
  vec4 stipple = texture(uNoise, on / 38.0);
  vec4 slow = textureLod(uNoise, on / 610.0, 0.0);
  matte *= 0.985 + 0.03 * slow.a;
  vec3 right = normalize(cross(vec3(0.0, 1.0, 0.001), smooth_) + vec3(1e-4, 0.0, 0.0));
  vec3 up = cross(smooth_, right);
  normal = normalize(smooth_ - right * (0.045 * (stipple.g - 0.5) + 0.02 * (slow.g - 0.5)) - up * (0.045 * (stipple.b - 0.5) + 0.02 * (slow.b - 0.5)));
  mirror = 0.0;
#endif
#ifdef BOARD
  float height;
  matte *= boardColor(vOwn, vOwnNormal, height);
  alpha = clamp(alpha - 0.07 * height, 0.05, 1.0);
  vec2 turn = texture(uNoise, vOwn.xz / vec2(120.0, 9.0)).gb - 0.5;
  normal = normalize(smooth_ + 0.02 * mat3(uModel) * vec3(turn.x * 0.3, 0.0, turn.y));
#endif
#ifdef GLAZE
  float round_ = atan(vOwn.z, vOwn.x);
  vec4 speck = texture(uNoise, vec2(round_ * 1.7, vOwn.y / 33.0));
  vec4 slow = texture(uNoise, vec2(round_ / PI, vOwn.y / 160.0));
  float spots = smoothstep(0.7, 0.79, texture(uNoise, vec2(round_ * 2.2 + 0.3, vOwn.y / 27.0)).a);
  matte *= (0.95 + 0.1 * slow.a) * (1.0 - 0.5 * spots);
  // The foot is not glazed.
  float bare = 1.0 - smoothstep(5.0, 6.2, vOwn.y + 1.5 * (slow.r - 0.5));
  matte = mix(matte, vec3(0.34, 0.235, 0.15), bare);
  alpha = mix(alpha + 0.06 * slow.r, 0.7, bare);
  normal = normalize(smooth_ + 0.025 * vec3(speck.g - 0.5, slow.b - 0.5, speck.b - 0.5));
#endif
#ifdef MATTE
  vec4 grain = texture(uNoise, (vOwn.xy + vOwn.z * vec2(0.7, 0.3)) / 21.0);
  matte *= 0.93 + 0.14 * grain.r;
  normal = normalize(smooth_ + 0.07 * vec3(grain.g - 0.5, grain.b - 0.5, grain.a - 0.5));
#endif
#ifdef PAGES
  float leaf = texture(uNoise, vec2((vOwn.x + vOwn.z) / 900.0, vOwn.y / 5.0)).r;
  matte *= 0.78 + 0.34 * leaf;
  mirror = 0.0;
#endif
#ifdef BACK
  float height;
  matte *= 1.02 * boardColor(vOwn.xyz * vec3(1.0, 1.0, 1.0), vec3(0.0, 1.0, 0.0), height);
  alpha = 0.6;
#endif
#ifdef FACE
  vec4 slopes = texture(uFaceSlopes, vUv);
  vec3 color = texture(uFaceColor, vUv).rgb;
#ifdef BURN
  float row = uRow.x + dot(uRow.yz, vOwn.xz);
  float column = uColumn.x + dot(uColumn.yz, vOwn.xz);
  float here = clamp(uRow.w - row + 0.5, 0.0, 1.0);
  float onRow = step(floor(uRow.w), row) * step(row, floor(uRow.w) + 1.0);
  float passed = uRowDone.x > 0.5 ? step(column, uColumn.w) : step(uColumn.w, column);
  float burned = mix(step(row, floor(uRow.w)), passed, onRow);
  color = mix(color, texture(uBurnedColor, vUv).rgb, burned);
  slopes = mix(slopes, texture(uBurnedSlopes, vUv), burned);
#endif
  vec2 slope = (slopes.rg * 255.0 - 128.0) / 127.0 * SLOPE_RANGE;
  float lost = max(slopes.b * 2.0 * SLOPE_RANGE * SLOPE_RANGE - dot(slope, slope), 0.0);
  // The orange peel of a sprayed film is finer than the proof.
  vec4 peel = texture(uNoise, vOwn.xz / 23.0);
  slope += 0.016 * (peel.gb - 0.5);
  slope -= vOwnNormal.xz / max(vOwnNormal.y, 0.25);
  vec3 own = normalize(vec3(-slope.x, 1.0, -slope.y));
  normal = normalize(mat3(uModel) * own);
  alpha = min(1.0, sqrt(slopes.a * slopes.a + lost));
  matte = max(color - MIRROR, vec3(0.0));
#endif
#ifdef RIM
  vec3 bump = texture(uRimNormal, vUv).xyz * 2.0 - 1.0;
  vec3 along = normalize(vTangent - smooth_ * dot(vTangent, smooth_));
  vec3 over = cross(smooth_, along);
  normal = normalize(along * bump.x + over * bump.y + smooth_ * bump.z);
  matte = texture(uRimColor, vUv).rgb;
  alpha = 0.8;
  mirror = 0.15;
#endif
#ifdef GLOW
  outColor = toScreen(uColor);
#else

  Light light = lightAt(vPlace, smooth_);
  vec3 shown = lit(matte, alpha, mirror, vPlace, smooth_, normal, light);
#if defined(FACE) && defined(BURN)
  // The beam's spot, and the warm light it throws round it.
  vec2 off = vec2(row - uRow.w, column - uColumn.w) / length(uRow.yz);
  shown += uRowDone.y * vec3(1.0, 0.72, 0.42) * (2.6 * exp(-dot(off, off) / 0.5) + 0.16 * exp(-dot(off, off) / 160.0));
#endif
  float away = smoothstep(uFade.x, uFade.y, length(vPlace));
  outColor = toScreen(mix(shown, uBackdrop, away));
#endif
}
