import { alignedZip, crc32 } from '../../base/aligned-zip.ts';
import { type CodedPicture, type Model, type ModelPart, upright } from './glb.ts';

/**
 * A slab as USDZ: a package in the layout of "Usdz File Format Specification" (Pixar, version 1.3): a zip of stored files, the data of
 * each starting at a multiple of 64 bytes, the layer first. The layer is USD's text form with UsdPreviewSurface materials; in metres,
 * upright as `encodeGlb` stands it.
 */
export function encodeUsdz(model: Model): Uint8Array {
  const files: { name: string; bytes: Uint8Array }[] = [];
  const picture = (name: string, { bytes, type }: CodedPicture): string => {
    const file = `pictures/${name}.${type === 'image/png' ? 'png' : 'jpg'}`;
    files.push({ name: file, bytes });
    return file;
  };
  const meshes = model.parts.map(meshText).join('\n');
  const materials = model.parts.map((part) => materialText(part, picture)).join('\n');
  const layer = `#usda 1.0
(
    defaultPrim = "Slab"
    metersPerUnit = 1
    upAxis = "Y"
    doc = ${quoted(`${model.name}. ${model.copyright}`)}
)

def Xform "Slab" (
    assetInfo = { string name = ${quoted(model.name)} }
    kind = "component"
)
{
${meshes}
    def Scope "Materials"
    {
${materials}
    }
}
`;
  return alignedZip([{ name: 'slab.usda', bytes: new TextEncoder().encode(layer) }, ...files], crc32);
}

/** A string of USD's text form; what it cannot hold is left out. */
const quoted = (text: string): string =>
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is taken out
  `"${text.replace(/[\u0000-\u001f]/g, ' ').replace(/[\\"]/g, (one) => `\\${one}`)}"`;

const numbers = (values: ArrayLike<number>, per: number, digits: number): string => {
  const out: string[] = [];
  for (let i = 0; i < values.length; i += per) {
    const tuple = Array.from({ length: per }, (_, k) => String(Number(values[i + k].toFixed(digits)) + 0));
    out.push(per === 1 ? tuple[0] : `(${tuple.join(', ')})`);
  }
  return `[${out.join(', ')}]`;
};

function meshText({ name, mesh }: ModelPart): string {
  const places = upright(mesh.position, 3, 0.001);
  // USD's pictures have their origin at the left bottom.
  const uv = Float32Array.from(mesh.uv, (value, i) => (i % 2 === 0 ? value : 1 - value));
  const low = [0, 1, 2].map((k) => extreme(places, k, Math.min, Number.POSITIVE_INFINITY));
  const high = [0, 1, 2].map((k) => extreme(places, k, Math.max, Number.NEGATIVE_INFINITY));
  return `    def Mesh "${name}" (
        prepend apiSchemas = ["MaterialBindingAPI"]
    )
    {
        uniform token subdivisionScheme = "none"
        float3[] extent = ${numbers([...low, ...high], 3, 6)}
        int[] faceVertexCounts = [${new Array(mesh.index.length / 3).fill(3).join(', ')}]
        int[] faceVertexIndices = ${numbers(mesh.index, 1, 0)}
        point3f[] points = ${numbers(places, 3, 6)}
        normal3f[] normals = ${numbers(upright(mesh.normal, 3), 3, 4)} (
            interpolation = "vertex"
        )
        texCoord2f[] primvars:st = ${numbers(uv, 2, 5)} (
            interpolation = "vertex"
        )
        rel material:binding = </Slab/Materials/${name}>
    }`;
}

const extreme = (values: Float32Array, from: number, pick: (a: number, b: number) => number, start: number): number => {
  let found = start;
  for (let i = from; i < values.length; i += 3) found = pick(found, values[i]);
  return found;
};

function materialText(
  { name, color, normal, roughness }: ModelPart,
  picture: (name: string, coded: CodedPicture) => string,
): string {
  const path = `/Slab/Materials/${name}`;
  const shaders: string[] = [];
  const inputs: string[] = [
    'float inputs:metallic = 0',
    'float inputs:ior = 1.5',
    'int inputs:useSpecularWorkflow = 0',
  ];
  const read = (what: string, coded: CodedPicture, outputs: string, space: string, extra = ''): void => {
    shaders.push(`            def Shader "${what}"
            {
                uniform token info:id = "UsdUVTexture"
                asset inputs:file = @${picture(`${name}-${what}`, coded)}@
                float2 inputs:st.connect = <${path}/place.outputs:result>
                token inputs:sourceColorSpace = "${space}"
                token inputs:wrapS = "repeat"
                token inputs:wrapT = "clamp"${extra}
                ${outputs}
            }`);
  };
  if ('bytes' in color) {
    read('color', color, 'float3 outputs:rgb', 'sRGB');
    inputs.push(`color3f inputs:diffuseColor.connect = <${path}/color.outputs:rgb>`);
  } else {
    inputs.push(`color3f inputs:diffuseColor = ${numbers(color, 3, 5).slice(1, -1)}`);
  }
  if (typeof roughness === 'number') inputs.push(`float inputs:roughness = ${roughness}`);
  else {
    read('roughness', roughness, 'float outputs:g', 'raw');
    inputs.push(`float inputs:roughness.connect = <${path}/roughness.outputs:g>`);
  }
  if (normal) {
    const range = `
                float4 inputs:scale = (2, 2, 2, 1)
                float4 inputs:bias = (-1, -1, -1, 0)`;
    read('normal', normal, 'float3 outputs:rgb', 'raw', range);
    inputs.push(`normal3f inputs:normal.connect = <${path}/normal.outputs:rgb>`);
  }
  return `        def Material "${name}"
        {
            token outputs:surface.connect = <${path}/surface.outputs:surface>

            def Shader "surface"
            {
                uniform token info:id = "UsdPreviewSurface"
${inputs.map((input) => `                ${input}`).join('\n')}
                token outputs:surface
            }
            def Shader "place"
            {
                uniform token info:id = "UsdPrimvarReader_float2"
                string inputs:varname = "st"
                float2 outputs:result
            }
${shaders.join('\n')}
        }`;
}
