in vec3 edge;
out vec3 vPlace;
out vec3 vUp;
out vec3 vEdge;

void main() {
  vPlace = position;
  vUp = normal;
  vEdge = edge;
  gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
}
