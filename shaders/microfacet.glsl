// Mirror reflection of a coat whose slopes are only known by mean and variance over the pixel.
//
// B. Walter, S. Marschner, H. Li, K. Torrance, "Microfacet models for refraction through rough surfaces", EGSR 2007: the GGX
//   distribution (eq. 33), here written over slopes so that a mean slope can be subtracted.
// J. Dupuy et al., "Linear efficient antialiased displacement and reflectance mapping", ACM TOG 32(6), 2013: the non-central
//   distribution over slopes; a filtered surface keeps its mean slope and widens by the variance.
// M. Olano, D. Baker, "LEAN Mapping", I3D 2010: variances of slopes add, alpha'^2 = alpha^2 + 2 variance.
// C. Schlick, "An inexpensive BRDF model for physically-based rendering", Computer Graphics Forum 13(3), 1994: Fresnel.
// M. Toksvig, "Mipmapping normal maps", J. Graphics Tools 10(3), 2005: why roughness has to grow as normals shorten.

const float PI = 3.14159265359;
// ((1.5 - 1) / (1.5 + 1))^2, the same k1 with which the proof's colours were measured.
const float MIRROR_SHARE = 0.04;

float schlick(float cosine) {
  float rest = clamp(1.0 - cosine, 0.0, 1.0);
  float square = rest * rest;
  return MIRROR_SHARE + (1.0 - MIRROR_SHARE) * square * square * rest;
}

// Density of facets whose slope is that of the half vector; alpha per axis, around the mean slope.
float facetDensity(vec3 halfway, vec2 meanSlope, vec2 alpha) {
  float up = max(halfway.y, 1e-3);
  vec2 off = (-halfway.xz / up - meanSlope) / alpha;
  float spread = 1.0 + dot(off, off);
  float up2 = up * up;
  return 1.0 / (PI * alpha.x * alpha.y * up2 * up2 * spread * spread);
}

float smithTerm(float cosine, float alpha2) {
  float c2 = cosine * cosine;
  return 2.0 * cosine / (cosine + sqrt(alpha2 + (1.0 - alpha2) * c2));
}

// Radiance reflected towards the viewer for a unit irradiance on a facing surface (a white matte surface would give 1).
float mirrorReflection(vec3 toLamp, vec3 toEye, vec2 meanSlope, vec2 alpha) {
  vec3 halfway = normalize(toLamp + toEye);
  float alpha2 = 0.5 * dot(alpha, alpha);
  float lampUp = max(toLamp.y, 0.02);
  float eyeUp = max(toEye.y, 0.05);
  float shadowing = smithTerm(lampUp, alpha2) * smithTerm(eyeUp, alpha2);
  return PI * facetDensity(halfway, meanSlope, alpha) * schlick(dot(halfway, toEye)) * shadowing / (4.0 * eyeUp);
}

// What a coat of this roughness reflects of an even dome: the mirror share, rising at grazing view as far as roughness lets it
// (after S. Lagarde's roughness-limited Schlick term).
float domeReflection(float eyeUp, float alpha) {
  float rest = clamp(1.0 - eyeUp, 0.0, 1.0);
  float square = rest * rest;
  return MIRROR_SHARE + (max(1.0 - sqrt(alpha), MIRROR_SHARE) - MIRROR_SHARE) * square * square * rest;
}
