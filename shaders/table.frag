// The proofing table: a matte warm grey that takes the slab's shadows and fades into the page.

in vec3 vPlace;
out vec4 outColor;

uniform sampler2D uCoat;
uniform vec3 uTable;
uniform vec3 uBackground;
uniform float uReach;
uniform float uLampSize;

void main() {
  float away = smoothstep(0.28, 1.0, length(vPlace.xz) / uReach);
  if (away >= 1.0) {
    outColor = toScreen(uBackground);
    return;
  }
  vec3 toLamp = toLampFrom(vPlace);
  vec4 grain = texture(uCoat, vPlace.xz / vec2(43.0, 51.0));
  vec2 slope = (grain.xy - 0.5) * 0.12;
  float low = 1.0 - toLamp.y;
  float entering = 1.0 - low * low * low * low * low;
  float facing = max(toLamp.y - dot(slope, toLamp.xz), 0.0) * entering;
  vec3 dome = uDomeLight * domeShare(vPlace.xz);
  vec3 lamp = lampIrradiance(vPlace) * facing * lampShare(vPlace.xz, toLamp, uLampSize);
  vec3 albedo = uTable * (1.0 + 0.07 * (grain.a - 0.5));
  outColor = toScreen(mix(albedo * (dome + lamp), uBackground, away));
}
