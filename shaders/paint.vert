out vec3 vPlace;
out vec3 vUp;

void main() {
  vPlace = position;
  vUp = normal;
  gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
}
