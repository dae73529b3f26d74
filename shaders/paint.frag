// The painted face: the burned picture inside its crop, the unburned slab around it.
//
// What is not needed is left out when the program is compiled, not skipped when it runs: software renderers walk both ways of a
// branch. PROOF: there is a surface. GROUND: the unburned slab is known place by place. OPEN_WOOD: a surface is burned through
// somewhere. WOOD_PHOTO: bare wood is shown as it was photographed. PEEL: a pixel is fine enough to show the film's orange peel over a ground. CLOSE_UP: single cells can be told apart. SCORCHED, UNCLEARED: marks.

in vec3 vPlace;
in vec3 vUp;
out vec4 outColor;

uniform vec3 uEye;
uniform sampler2D uColor;
uniform sampler2D uMoments;
uniform sampler2D uMarks; // scorch, depth
uniform float uHas;       // 1 where there is a surface
uniform float uCellsAcross;
uniform vec4 uPicture;    // west, north, width, height in mm
uniform float uCropOval;

uniform sampler2D uCoat;  // unevenness of a sprayed film: slopes, mean square slope, height
uniform float uCoatTileMm;
uniform float uCoatSlope;
uniform vec3 uIntact;
uniform vec3 uAlpha;      // top coat, undercoat, wood
uniform float uExaggeration;
uniform vec3 uUnclearedTint;
uniform vec3 uScorchedTint;

#ifdef GROUND
uniform sampler2D uGroundColor; // rgb, share that is painted
uniform sampler2D uGroundMoments;
uniform vec4 uGround;           // west, north, width, height in mm
#endif

#ifdef WOOD_PHOTO
uniform sampler2D uWoodPhoto;
uniform vec4 uWoodPlace;        // west, north, width, height in mm
#endif

const float DEPTH_RANGE_UM = 80.0;

// Distance inside the picture's crop in mm, negative outside.
float cropDistance(vec2 place) {
  vec2 halfSize = uPicture.zw * 0.5;
  vec2 p = place - uPicture.xy - halfSize;
  if (uCropOval > 0.5) {
    vec2 q = p / halfSize;
    float k = length(q);
    return -k * (k - 1.0) / max(length(q / halfSize), 1e-6);
  }
  vec2 edge = halfSize - abs(p);
  return min(edge.x, edge.y);
}

float exaggerate(float steep) {
  return uExaggeration / (1.0 + max(uExaggeration - 1.0, 0.0) * steep / 1.2);
}

// Depth below the intact surface, µm.
float depthAt(vec2 uv) {
  return textureLod(uMarks, uv, 0.0).g * DEPTH_RANGE_UM;
}

// Share of the lamp that reaches the floor of a burned dot past its walls; only where single cells can be told apart.
float dotShadow(vec2 uv, vec3 toLamp, float cellMm) {
  float depth = depthAt(uv);
  vec2 stepUv = toLamp.xz / max(length(toLamp.xz), 1e-3) * cellMm / uPicture.zw;
  float rise = toLamp.y / max(length(toLamp.xz), 1e-3) * cellMm * 1000.0 / max(uExaggeration, 1.0);
  float near = depth - depthAt(uv + stepUv) - rise;
  float far = depth - depthAt(uv + stepUv * 2.2) - rise * 2.2;
  return 1.0 - smoothstep(-1.0, 9.0, max(near, far));
}

#if defined(PROOF) && (defined(UNCLEARED) || defined(SCORCHED))
// Middle of the lattice's place that lies nearest, mm.
vec2 latticeMiddle(vec2 place, float spacing, float shift) {
  return (floor(place / spacing + shift) + 0.5 - shift) * spacing;
}

// The share round a place, read where a texel is about as wide as the lattice.
float shareRound(sampler2D from, vec2 middle, float spacing, float cellMm, vec4 channel) {
  vec2 at = (middle - uPicture.xy) / uPicture.zw;
  float within = step(0.0, cropDistance(middle));
  return within * dot(textureLod(from, at, log2(max(spacing / cellMm, 1.0))), channel);
}

// Ink of both octaves of the lattice. Dots stand between crosses.
vec2 marks(sampler2D from, vec4 channel, vec2 place, float pixel, float cellMm, float shift) {
  float octave = log2(max(pixel * 10.0, 1e-4));
  float whole = floor(octave);
  vec2 ink = vec2(0.0);
  for (int i = 0; i < 2; i++) {
    float spacing = exp2(whole + float(i));
    vec2 middle = latticeMiddle(place, spacing, shift);
    float size = markSize(shareRound(from, middle, spacing, cellMm, channel)) * spacing;
    float edge = shift > 0.0 ? crossEdge(place - middle, size) : dotEdge(place - middle, size);
    float weight = smoothstep(0.3, 0.7, octave - whole);
    ink += (i == 0 ? 1.0 - weight : weight) * inkOf(edge, pixel, size);
  }
  return ink;
}
#endif

void main() {
  vec2 uv = (vPlace.xz - uPicture.xy) / uPicture.zw;
  vec2 pixelMm = fwidth(vPlace.xz);
  float pixel = max(0.5 * (pixelMm.x + pixelMm.y), 1e-4);
  float cropMm = cropDistance(vPlace.xz);
  float inside = clamp(cropMm / pixel + 0.5, 0.0, 1.0);

  vec4 intact = vec4(uIntact, 0.0);
  float painted = 1.0;
  vec4 moments = vec4(0.0);
#ifdef GROUND
  vec2 groundUv = (vPlace.xz - uGround.xy) / uGround.zw;
  vec4 ground = texture(uGroundColor, groundUv);
  intact.rgb = ground.rgb;
  painted = ground.a;
  moments = texture(uGroundMoments, groundUv);
#endif
  vec4 color = intact;
  float burned = 0.0;
  float cellMm = 1.0;
#ifdef PROOF
  cellMm = uPicture.z / uCellsAcross;
  inside *= uHas;
  color = mix(intact, texture(uColor, uv), inside);
  // How far the undercoat lies open, told by the colour: it averages truly over any footprint, and costs no texture of its own.
  burned = clamp(1.7 * length(color.rgb - intact.rgb) - 0.02, 0.0, 1.0);
  // The film's own waves fade out towards the edge of what was computed, so that no border shows where nothing was burned: into the
  // ground's, which are the same but coarser, or into nothing.
  float known = inside * max(burned, smoothstep(0.0, 5.0, cropMm));
#ifdef GROUND
  moments = mix(moments, texture(uMoments, uv), known);
#else
  moments = texture(uMoments, uv) * vec4(known, known, known * known, known * known);
#endif
#else
  inside = 0.0;
#endif
  // What lies open decides how it shines.
  float bare = 1.0 - painted;
#if defined(PROOF) && defined(OPEN_WOOD)
  float scorch = texture(uMarks, uv).r * inside;
  // Scorch is a mean over the footprint: over what is burned of it, it tells how much of that is burned through.
  bare = max(bare, burned * smoothstep(0.75, 0.99, scorch / max(burned, 0.02)));
#endif

#if defined(WOOD_PHOTO) && defined(GROUND)
  // What the beam or time does to the wood it does to the photographed wood too: by the same factor. Its relief was photographed with
  // it; the grown wood's lies elsewhere, so it only roughens.
  vec3 wood = texture(uWoodPhoto, (vPlace.xz - uWoodPlace.xy) / uWoodPlace.zw).rgb;
  float open = 1.0 - painted;
  color.rgb = mix(color.rgb, min(wood * color.rgb / max(ground.rgb, vec3(0.004)), vec3(1.0)), open);
  moments.xy *= 1.0 - open;
#endif

  vec2 slope = moments.xy;
  vec2 variance = max(moments.zw - moments.xy * moments.xy, vec2(0.0));
#if defined(PEEL) || !defined(GROUND)
  vec4 coat = texture(uCoat, vPlace.xz / uCoatTileMm);
  float coatSlope = uCoatSlope * (1.0 - 0.7 * burned) * (1.0 - bare);
  vec2 waves = (coat.xy - 0.5) * 2.0 * coatSlope;
  slope += waves;
  variance += max(coat.z * coatSlope * coatSlope - waves * waves, vec2(0.0));
#endif
  // Exaggeration lifts shallow waves fully and steep walls less, or the dots would drown everything else.
  slope *= exaggerate(length(slope));
  float roughGain = exaggerate(sqrt(variance.x + variance.y));
  variance *= roughGain * roughGain;
  // The rolled edge of the film turns within a pixel or two: widen there too (Y. Tokuyoshi, A. Kaplanyan, "Improved geometric
  // specular antialiasing", I3D 2019).
  vec3 bendX = dFdx(vUp);
  vec3 bendY = dFdy(vUp);
  variance += min(0.25 * (dot(bendX, bendX) + dot(bendY, bendY)), 0.18);
  slope -= vUp.xz * (painted / max(vUp.y, 0.2));

  float alphaCoat = mix(mix(uAlpha.x, uAlpha.y, burned), uAlpha.z, bare);
  vec2 alpha = min(sqrt(vec2(alphaCoat * alphaCoat) + 2.0 * variance), vec2(1.0));

  vec3 toEye = normalize(uEye - vPlace);
  vec3 toLamp = toLampFrom(vPlace);
  vec3 lamp = lampIrradiance(vPlace);

  // The measured colour holds the mirror share: take it out of the matte part, give it back as reflection.
  vec3 matte = max(color.rgb - MIRROR_SHARE, vec3(0.0));
  float openness = 0.5 + 0.5 * vUp.y;
  vec3 light = uDomeLight * openness *
    (matte + (color.rgb - matte) * domeReflection(toEye.y, alphaCoat) / MIRROR_SHARE);

  float facing = max(toLamp.y - dot(slope, toLamp.xz), 0.0) / sqrt(1.0 + dot(slope, slope));
  float entering = (1.0 - schlick(toLamp.y)) / (1.0 - MIRROR_SHARE);
  float seen = 1.0;
#if defined(PROOF) && defined(CLOSE_UP)
  float closeUp = (1.0 - smoothstep(0.35, 0.8, pixel / cellMm)) * inside;
  seen = mix(1.0, dotShadow(uv, toLamp, cellMm), closeUp);
#endif
  vec3 shine = lamp * mirrorReflection(toLamp, toEye, slope, alpha);
  // Glare is compressed as a camera's highlights are; what is below half of white stays nearly as it is.
  shine /= 1.0 + 0.6 * shine.g * shine.g / (0.3 + shine.g);
  light += seen * (lamp * matte * facing * entering + shine);

  float brightness = clamp(dot(uDomeLight + lamp * toLamp.y, vec3(0.2126, 0.7152, 0.0722)), 0.0, 1.0);
#if defined(PROOF) && defined(UNCLEARED)
  light = layInk(light, uUnclearedTint, inside * marks(uColor, vec4(0.0, 0.0, 0.0, 1.0), vPlace.xz, pixel, cellMm, 0.0), brightness);
#endif
#if defined(PROOF) && defined(SCORCHED)
  light = layInk(light, uScorchedTint, inside * marks(uMarks, vec4(1.0, 0.0, 0.0, 0.0), vPlace.xz, pixel, cellMm, 0.5), brightness);
#endif
  outColor = toScreen(light);
}
