#version 300 es
// A band of cells as the view of the slab keeps it: colours in linear light, which the target encodes to the same codes, and relief.
precision highp float;
precision highp int;
precision highp sampler2D;

uniform sampler2D uColor;
uniform sampler2D uRelief;
uniform int uFirstCell;

layout(location = 0) out vec4 outColor;
layout(location = 1) out vec2 outRelief;

void main() {
  ivec2 cell = ivec2(gl_FragCoord.xy) - ivec2(0, uFirstCell);
  vec4 color = texelFetch(uColor, cell, 0);
  vec3 low = color.rgb / 12.92;
  vec3 high = pow((color.rgb + 0.055) / 1.055, vec3(2.4));
  outColor = vec4(mix(high, low, vec3(lessThanEqual(color.rgb, vec3(0.04045)))), color.a);
  uvec4 bytes = uvec4(texelFetch(uRelief, cell, 0) * 255.0 + 0.5);
  outRelief = unpackHalf2x16(bytes.x | bytes.y << 8 | bytes.z << 16 | bytes.w << 24);
}
