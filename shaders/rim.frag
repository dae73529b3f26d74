// The slab's unpainted rim: sanded wood, a pale line of young wood, and bark (or a sawn side where the slab was cut).

in vec3 vPlace;
in vec3 vUp;
in vec3 vEdge; // how far out, bark, way along the outline
out vec4 outColor;

uniform sampler2D uCoat;
uniform vec3 uWood;
uniform float uThickness;

void main() {
  float out_ = vEdge.x;
  float along = vEdge.z;
  float down = -vPlace.y;

  // Furrows run across the rim: features are narrow along the outline and long down the side.
  vec4 coarse = texture(uCoat, vec2(along / 31.0, down / 140.0 + out_ * 0.16));
  vec4 fine = texture(uCoat, vec2(along / 11.0 + 0.37, down / 46.0 + out_ * 0.5));
  float ridge = coarse.a * 0.62 + fine.a * 0.38;

  float bark = vEdge.y * smoothstep(0.1, 0.2, out_ + (fine.a - 0.5) * 0.1);
  vec3 sawn = uWood * (0.9 + 0.12 * (fine.a - 0.5) + 0.1 * (coarse.a - 0.5));
  vec3 young = uWood * vec3(0.98, 0.9, 0.78);
  vec3 pale = mix(sawn, young, vEdge.y);
  vec3 crust = mix(uWood * vec3(0.085, 0.064, 0.05), uWood * vec3(0.3, 0.25, 0.21), smoothstep(0.25, 0.8, ridge));
  crust = mix(crust, uWood * vec3(0.2, 0.125, 0.08), 0.6 * (1.0 - smoothstep(0.2, 0.42, out_)));
  vec3 albedo = mix(pale, crust, bark);

  vec3 tangent = normalize(vec3(-vUp.z, 0.0, vUp.x) + vec3(1e-4, 0.0, 0.0));
  vec3 up = normalize(cross(vUp, tangent));
  vec2 bump = (coarse.xy - 0.5) * 1.1 + (fine.xy - 0.5) * 0.8;
  vec3 normal = normalize(vUp - (tangent * bump.x + up * bump.y * 0.5) * mix(0.12, 1.1, bark));

  vec3 toLamp = toLampFrom(vPlace);
  float foot = smoothstep(-0.1, 1.0, 1.0 - down / uThickness);
  float openness = (0.5 + 0.5 * normal.y) * mix(0.45, 1.0, foot) * mix(1.0, 0.72 + 0.28 * ridge, bark);
  vec3 bounce = uDomeLight * 0.22 * (0.5 - 0.5 * normal.y);
  float low = 1.0 - toLamp.y;
  float entering = 1.0 - low * low * low * low * low;
  // Light that grazes the slab must not burn out what happens to face it.
  float facing = max(dot(normal, toLamp), 0.0) * entering;
  vec3 light = albedo * ((uDomeLight * openness + bounce) + lampIrradiance(vPlace) * facing);
  outColor = toScreen(light);
}
