import type { PaintedMesh } from '../../render/model/slab-parts.ts';

/** A coded picture, PNG or JPEG. */
export interface CodedPicture {
  readonly bytes: Uint8Array;
  readonly type: 'image/png' | 'image/jpeg';
}

/** A part of a model: a mesh in mm with what it is made of. Colours without pictures are linear rgb. */
export interface ModelPart {
  readonly name: string;
  readonly mesh: PaintedMesh;
  readonly color: CodedPicture | readonly [number, number, number];
  readonly normal: CodedPicture | null;
  /** Green is roughness, blue metal; or one roughness for all. */
  readonly roughness: CodedPicture | number;
}

export interface Model {
  readonly name: string;
  readonly copyright: string;
  readonly parts: readonly ModelPart[];
}

/** Numbers of glTF 2.0 (ISO/IEC 12113:2022). */
const FLOAT = 5126;
const UNSIGNED_INT = 5125;
const ARRAY = 34962;
const ELEMENTS = 34963;
const REPEAT = 10497;
const CLAMP = 33071;
const LINEAR = 9729;
const MIPMAPS = 9987;

/**
 * A slab as binary glTF 2.0 (ISO/IEC 12113:2022, section 4), one file with its pictures in it. Own code: exporters of libraries want a canvas,
 * or a document of theirs that takes as many lines to fill, and are larger than all of this room. In metres, standing upright: what is up on the
 * slab's face looks at the viewer (+z), north is up (+y).
 */
export function encodeGlb(model: Model): Uint8Array {
  const chunks: Uint8Array[] = [];
  let length = 0;
  const bufferViews: object[] = [];
  const accessors: object[] = [];
  const images: object[] = [];
  const textures: object[] = [];
  const view = (bytes: Uint8Array, target?: number): number => {
    const pad = (4 - (length % 4)) % 4;
    if (pad) chunks.push(new Uint8Array(pad));
    length += pad;
    bufferViews.push({ buffer: 0, byteOffset: length, byteLength: bytes.length, ...(target ? { target } : {}) });
    chunks.push(bytes);
    length += bytes.length;
    return bufferViews.length - 1;
  };
  const accessor = (values: Float32Array | Uint32Array, type: string, per: number, bounds = false): number => {
    const bytes = new Uint8Array(values.buffer, values.byteOffset, values.byteLength);
    const index = type === 'SCALAR';
    accessors.push({
      bufferView: view(bytes, index ? ELEMENTS : ARRAY),
      componentType: index ? UNSIGNED_INT : FLOAT,
      count: values.length / per,
      type,
      ...(bounds ? boundsOf(values, per) : {}),
    });
    return accessors.length - 1;
  };
  const texture = ({ bytes, type }: CodedPicture, wraps: boolean): { index: number } => {
    images.push({ bufferView: view(bytes), mimeType: type });
    textures.push({ source: images.length - 1, sampler: wraps ? 1 : 0 });
    return { index: textures.length - 1 };
  };
  const materials: object[] = [];
  const meshes: object[] = [];
  for (const { name, mesh, color, normal, roughness } of model.parts) {
    const wraps = name === 'rim';
    const shaded = { metallicFactor: 0, roughnessFactor: typeof roughness === 'number' ? roughness : 1 };
    materials.push({
      name,
      pbrMetallicRoughness: {
        ...shaded,
        ...('bytes' in color ? { baseColorTexture: texture(color, wraps) } : { baseColorFactor: [...color, 1] }),
        ...(typeof roughness === 'number'
          ? {}
          : { metallicFactor: 1, metallicRoughnessTexture: texture(roughness, wraps) }),
      },
      ...(normal ? { normalTexture: texture(normal, wraps) } : {}),
    });
    const pictured = 'bytes' in color || normal !== null;
    meshes.push({
      name,
      primitives: [
        {
          attributes: {
            POSITION: accessor(upright(mesh.position, 3, 0.001), 'VEC3', 3, true),
            NORMAL: accessor(upright(mesh.normal, 3), 'VEC3', 3),
            ...(normal ? { TANGENT: accessor(upright(mesh.tangent, 4), 'VEC4', 4) } : {}),
            ...(pictured ? { TEXCOORD_0: accessor(mesh.uv, 'VEC2', 2) } : {}),
          },
          indices: accessor(mesh.index, 'SCALAR', 1),
          material: materials.length - 1,
        },
      ],
    });
  }
  const samplers = [CLAMP, REPEAT].map((wrapS) => ({ magFilter: LINEAR, minFilter: MIPMAPS, wrapS, wrapT: CLAMP }));
  const json = {
    asset: { version: '2.0', generator: 'Foreburn', copyright: model.copyright },
    scene: 0,
    scenes: [{ name: model.name, nodes: [0] }],
    nodes: [
      { name: model.name, children: meshes.map((_, i) => i + 1) },
      ...meshes.map((_, mesh) => ({ name: model.parts[mesh].name, mesh })),
    ],
    meshes,
    materials,
    textures,
    images,
    samplers,
    accessors,
    bufferViews,
    buffers: [{ byteLength: length }],
  };
  return container(new TextEncoder().encode(JSON.stringify(json)), chunks, length);
}

/** Lays a slab's vectors (y up from its face, z south) upright: the face looks along +z. */
export function upright(values: Float32Array, per: 3 | 4, scale = 1): Float32Array {
  const out = new Float32Array(values);
  for (let i = 0; i < out.length; i += per) {
    out[i] = scale * values[i];
    out[i + 1] = -scale * values[i + 2] + 0;
    out[i + 2] = scale * values[i + 1] + 0;
  }
  return out;
}

function boundsOf(values: ArrayLike<number>, per: number): { min: number[]; max: number[] } {
  const min = new Array<number>(per).fill(Number.POSITIVE_INFINITY);
  const max = new Array<number>(per).fill(Number.NEGATIVE_INFINITY);
  for (let i = 0; i < values.length; i++) {
    min[i % per] = Math.min(min[i % per], values[i]);
    max[i % per] = Math.max(max[i % per], values[i]);
  }
  return { min, max };
}

/** Header, JSON chunk padded with spaces, binary chunk padded with zeros (section 4.4). */
function container(json: Uint8Array, chunks: readonly Uint8Array[], length: number): Uint8Array {
  const jsonLength = json.length + ((4 - (json.length % 4)) % 4);
  const binLength = length + ((4 - (length % 4)) % 4);
  const out = new Uint8Array(12 + 8 + jsonLength + 8 + binLength);
  const words = new DataView(out.buffer);
  const write = (at: number, ...values: number[]): void => {
    values.forEach((value, i) => {
      words.setUint32(at + 4 * i, value, true);
    });
  };
  write(0, 0x46546c67, 2, out.length, jsonLength, 0x4e4f534a);
  out.fill(0x20, 20, 20 + jsonLength);
  out.set(json, 20);
  write(20 + jsonLength, binLength, 0x004e4942);
  let at = 28 + jsonLength;
  for (const chunk of chunks) {
    out.set(chunk, at);
    at += chunk.length;
  }
  return out;
}
