// Only where things are: for shadow maps.

in vec3 position;
uniform mat4 uModel;
uniform mat4 uSight;

void main() {
  gl_Position = uSight * uModel * vec4(position, 1.0);
}
