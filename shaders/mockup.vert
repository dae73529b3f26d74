// Anything in a mock-up: places in mm through the model's matrix; what lies on it is known in its own mm (vOwn).

in vec3 position;
in vec3 normal;
in vec2 uv;
in vec4 tangent;

uniform mat4 uModel;
uniform mat4 uSight;

centroid out vec3 vPlace;
centroid out vec3 vNormal;
centroid out vec3 vOwn;
centroid out vec3 vOwnNormal;
centroid out vec2 vUv;
centroid out vec3 vTangent;

void main() {
  vec4 world = uModel * vec4(position, 1.0);
  vPlace = world.xyz;
  vNormal = mat3(uModel) * normal;
  vTangent = mat3(uModel) * tangent.xyz;
  vOwn = position;
  vOwnNormal = normal;
  vUv = uv;
  gl_Position = uSight * world;
}
