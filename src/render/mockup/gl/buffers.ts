import type { Mesh } from '../../mesh/mesh.ts';

/** A mesh on the graphics card. */
export interface Buffers {
  readonly vertices: WebGLVertexArrayObject;
  readonly count: number;
  dispose(): void;
}

export type UvMesh = Mesh & { readonly uv?: Float32Array; readonly tangent?: Float32Array };

export function loadMesh(gl: WebGL2RenderingContext, mesh: UvMesh): Buffers {
  const vertices = gl.createVertexArray();
  gl.bindVertexArray(vertices);
  const made: WebGLBuffer[] = [];
  const attribute = (place: number, values: Float32Array | undefined, per: number): void => {
    if (!values) return;
    const buffer = gl.createBuffer();
    made.push(buffer);
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
    gl.enableVertexAttribArray(place);
    gl.vertexAttribPointer(place, per, gl.FLOAT, false, 0, 0);
  };
  attribute(0, mesh.position, 3);
  attribute(1, mesh.normal, 3);
  attribute(2, mesh.uv, 2);
  attribute(3, mesh.tangent, 4);
  const index = gl.createBuffer();
  made.push(index);
  gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, index);
  gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, mesh.index, gl.STATIC_DRAW);
  gl.bindVertexArray(null);
  return {
    vertices,
    count: mesh.index.length,
    dispose() {
      gl.deleteVertexArray(vertices);
      for (const buffer of made) gl.deleteBuffer(buffer);
    },
  };
}
