in vec3 edge;
#ifdef WOOD_PHOTO
in vec2 above;
out vec2 vAbove;
#endif
out vec3 vPlace;
out vec3 vUp;
out vec3 vEdge;

void main() {
  vPlace = position;
  vUp = normal;
  vEdge = edge;
#ifdef WOOD_PHOTO
  vAbove = above;
#endif
  gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
}
