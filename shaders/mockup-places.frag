// Where the things are that a pixel sees, and which way they face: what the light is counted for.

centroid in vec3 vPlace;
centroid in vec3 vNormal;
layout(location = 0) out vec4 outPlace;
layout(location = 1) out vec4 outNormal;

void main() {
  outPlace = vec4(vPlace, 1.0);
  outNormal = vec4(normalize(vNormal), 1.0);
}
