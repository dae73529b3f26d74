// The painted face and the table: places in mm on the slab's own axes.

in vec3 position;
in vec3 normal;
uniform mat4 uSight;
out vec3 vPlace;
out vec3 vUp;

void main() {
  vPlace = position;
  vUp = normal;
  gl_Position = uSight * vec4(position, 1.0);
}
