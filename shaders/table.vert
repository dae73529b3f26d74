out vec3 vPlace;

void main() {
  vec4 world = modelMatrix * vec4(position, 1.0);
  vPlace = world.xyz;
  gl_Position = projectionMatrix * viewMatrix * world;
}
