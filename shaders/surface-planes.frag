// A burned picture as it comes from the card (three planes of bytes, src/render/slab/surface/planes.ts) as the view keeps it: colours in
// linear light, which the target encodes to the same codes, and relief.

uniform sampler2D uPlanes;
// The second plane from the first.
uniform ivec2 uNext;

layout(location = 0) out vec4 outColor;
layout(location = 1) out vec2 outRelief;

uvec3 bytesAt(ivec2 at) { return uvec3(texelFetch(uPlanes, at, 0).rgb * 255.0 + 0.5); }

void main() {
  ivec2 cell = ivec2(gl_FragCoord.xy);
  vec3 color = texelFetch(uPlanes, cell, 0).rgb;
  uvec3 height = bytesAt(cell + uNext);
  uvec3 scorch = bytesAt(cell + 2 * uNext);
  vec3 low = color / 12.92;
  vec3 high = pow((color + 0.055) / 1.055, vec3(2.4));
  outColor = vec4(mix(high, low, vec3(lessThanEqual(color, vec3(0.04045)))), height.b > 0u ? 1.0 : 0.0);
  outRelief = unpackHalf2x16(height.x | height.y << 8 | scorch.x << 16 | scorch.y << 24);
}
