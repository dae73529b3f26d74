import { inflateRawSync } from 'node:zlib';
import { validateBytes } from 'gltf-validator';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { encodeGlb } from '../../src/outputs/model/glb.ts';
import { type EncodePicture, slabModel } from '../../src/outputs/model/slab-model.ts';
import { encodeUsdz } from '../../src/outputs/model/usdz.ts';
import { slabParts } from '../../src/render/model/slab-parts.ts';
import { SMALL_SLAB, smallFace } from '../helpers/small-face.ts';

const encode: EncodePicture = ({ width, height, data }, type, quality = 0.9) => {
  const image = sharp(data, { raw: { width, height, channels: 4 } }).removeAlpha();
  return (type === 'image/png' ? image.png() : image.jpeg({ quality: Math.round(100 * quality) })).toBuffer();
};
const model = (name = 'Hollin Reach') => slabModel(name, SMALL_SLAB, slabParts(SMALL_SLAB), smallFace(128), encode);

/** Source: the Khronos glTF validator (2.0.0-dev.3.10), the format's own (ISO/IEC 12113:2022). */
describe('GLB', () => {
  it('has nothing that the validator warns of', async () => {
    for (const slab of [
      SMALL_SLAB,
      { ...SMALL_SLAB, shape: 'rectangle' as const, cut: 'plank' as const, edge: 'sawn' as const },
    ]) {
      const bytes = encodeGlb(await slabModel('“Hollin” & <Reach>', slab, slabParts(slab), smallFace(128), encode));
      const report = await validateBytes(bytes, { maxIssues: 100 });
      expect(report.issues.messages.filter(({ severity }: { severity: number }) => severity < 2)).toEqual([]);
      expect([report.issues.numErrors, report.issues.numWarnings]).toEqual([0, 0]);
      expect(report.info.totalTriangleCount).toBeGreaterThan(1000);
    }
  });

  it('is as large as the slab in metres, upright, looking along +z', async () => {
    const bytes = encodeGlb(await model());
    const words = new DataView(bytes.buffer, bytes.byteOffset);
    const json = JSON.parse(new TextDecoder().decode(bytes.subarray(20, 20 + words.getUint32(12, true))));
    const bounds = json.meshes.map((mesh: { primitives: { attributes: { POSITION: number } }[] }) => {
      const { min, max } = json.accessors[mesh.primitives[0].attributes.POSITION];
      return max.map((value: number, k: number) => value - min[k]);
    });
    const [, rim] = bounds;
    // Bark stands out and draws back by about a millimetre.
    expect(Math.abs(rim[0] - 0.06)).toBeLessThan(0.003);
    expect(Math.abs(rim[1] - 0.048)).toBeLessThan(0.003);
    expect(Math.abs(rim[2] - 0.012)).toBeLessThan(0.001);
    // The face's first normals look along +z.
    const normal = json.accessors[json.meshes[0].primitives[0].attributes.NORMAL];
    const view = json.bufferViews[normal.bufferView];
    const start = 28 + words.getUint32(12, true) + view.byteOffset;
    expect([0, 1, 2].map((k) => words.getFloat32(start + 4 * k, true))).toEqual([0, 0, 1]);
  });
});

interface ZipEntry {
  readonly name: string;
  readonly method: number;
  readonly dataAt: number;
  readonly bytes: Uint8Array;
}

/** Reads a zip from its end as PKWARE's APPNOTE 4.3 says, sharing no code with what writes it. */
function readZip(file: Uint8Array): ZipEntry[] {
  const view = new DataView(file.buffer, file.byteOffset, file.byteLength);
  let end = file.length - 22;
  while (view.getUint32(end, true) !== 0x06054b50) end--;
  let at = view.getUint32(end + 16, true);
  return Array.from({ length: view.getUint16(end + 10, true) }, () => {
    expect(view.getUint32(at, true)).toBe(0x02014b50);
    const size = view.getUint32(at + 20, true);
    const nameLength = view.getUint16(at + 28, true);
    const local = view.getUint32(at + 42, true);
    const name = new TextDecoder().decode(file.subarray(at + 46, at + 46 + nameLength));
    expect(view.getUint32(local, true)).toBe(0x04034b50);
    const dataAt = local + 30 + view.getUint16(local + 26, true) + view.getUint16(local + 28, true);
    const raw = file.subarray(dataAt, dataAt + size);
    const method = view.getUint16(at + 10, true);
    const bytes = method === 8 ? inflateRawSync(raw) : raw;
    at += 46 + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
    return { name, method, dataAt, bytes };
  });
}

/**
 * Source: "Usdz File Format Specification", Pixar, 1.3: an uncompressed, unencrypted zip, the data of every file at a multiple of 64 bytes, the
 * default layer first; pictures PNG or JPEG (values from memory, no copy at hand).
 */
describe('USDZ', () => {
  it('is laid out as the format asks', async () => {
    const entries = readZip(encodeUsdz(await model()));
    expect(entries[0].name).toMatch(/\.usda$/);
    expect(entries).toHaveLength(6);
    for (const { name, method, dataAt } of entries) {
      expect(method).toBe(0);
      expect(dataAt % 64, name).toBe(0);
    }
    for (const { name, bytes } of entries.slice(1)) {
      expect((await sharp(bytes).metadata()).format).toBe(name.endsWith('.png') ? 'png' : 'jpeg');
    }
  });

  it('names every picture that it holds, and as many points as its triangles use', async () => {
    const [layer, ...pictures] = readZip(encodeUsdz(await model()));
    const text = new TextDecoder().decode(layer.bytes);
    const named = [...text.matchAll(/@([^@]+)@/g)].map((match) => match[1]);
    expect(named.sort()).toEqual(pictures.map(({ name }) => name).sort());
    expect(text).toMatch(/^#usda 1\.0\n/);
    expect(text).toContain('metersPerUnit = 1');
    const open = [...text].filter((one) => one === '{').length;
    expect([...text].filter((one) => one === '}')).toHaveLength(open);
    for (const mesh of text.split('def Mesh').slice(1)) {
      const numbers = (pattern: RegExp) =>
        pattern
          .exec(mesh)![1]
          .match(/-?[\d.e-]+/g)!
          .map(Number);
      const points = numbers(/point3f\[\] points = \[([^\]]*)\]/).length / 3;
      const indices = numbers(/faceVertexIndices = \[([^\]]*)\]/);
      expect(numbers(/faceVertexCounts = \[([^\]]*)\]/)).toHaveLength(indices.length / 3);
      expect(Math.max(...indices)).toBeLessThan(points);
      expect(numbers(/primvars:st = \[([^\]]*)\]/)).toHaveLength(2 * points);
      expect(numbers(/normals = \[([^\]]*)\]/)).toHaveLength(3 * points);
    }
  });

  it('keeps a name from getting out of its string', async () => {
    const [layer] = readZip(encodeUsdz(await model('a" ) \\ def Xform "b')));
    expect(new TextDecoder().decode(layer.bytes)).toContain('string name = "a\\" ) \\\\ def Xform \\"b"');
  });
});
