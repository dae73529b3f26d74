in vec3 position;
in vec3 normal;
in vec3 edge;
uniform mat4 uSight;
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
  gl_Position = uSight * vec4(position, 1.0);
}
