/** An array of float32 as a file of NumPy's format. */
interface NpyArray {
  readonly shape: readonly number[];
  readonly data: Float32Array;
}

const MAGIC = [0x93, 0x4e, 0x55, 0x4d, 0x50, 0x59, 1, 0];
const PREAMBLE = 10;
const ALIGNMENT = 64;

/**
 * Encodes float32 values as a NumPy array file: format 1.0, little endian, C order (last index fastest), header padded with spaces
 * so that the data start at a multiple of 64 bytes.
 * Source: NEP 1, "A simple file format for NumPy arrays", and numpy.lib.format. Test: the same bytes as numpy.save writes.
 * @param shape whole numbers ≥ 0; a plane is [height, width].
 * @throws RangeError if the shape does not have as many values.
 */
export function encodeNpy(data: Float32Array, shape: readonly number[]): Uint8Array<ArrayBuffer> {
  const count = shape.reduce((product, size) => product * size, 1);
  if (shape.some((size) => !Number.isInteger(size) || size < 0) || count !== data.length) {
    throw new RangeError(`a shape of ${shape.join(' × ')} does not hold ${data.length} values`);
  }
  const tuple = shape.length === 1 ? `(${shape[0]},)` : `(${shape.join(', ')})`;
  const header = `{'descr': '<f4', 'fortran_order': False, 'shape': ${tuple}, }`;
  const start = Math.ceil((PREAMBLE + header.length + 1) / ALIGNMENT) * ALIGNMENT;
  const text = `${header.padEnd(start - PREAMBLE - 1)}\n`;

  const out = new Uint8Array(start + 4 * data.length);
  const view = new DataView(out.buffer);
  out.set(MAGIC);
  view.setUint16(8, text.length, true);
  for (let i = 0; i < text.length; i++) out[PREAMBLE + i] = text.charCodeAt(i);
  for (let i = 0; i < data.length; i++) view.setFloat32(start + 4 * i, data[i], true);
  return out;
}

/**
 * Reads float32 and float64, little endian, C order, format 1.x.
 * @throws RangeError for anything else.
 */
export function decodeNpy(bytes: Uint8Array): NpyArray {
  if (bytes.length < PREAMBLE || MAGIC.slice(0, 7).some((byte, i) => bytes[i] !== byte)) {
    throw new RangeError('these bytes are no NumPy array of format 1');
  }
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const start = PREAMBLE + view.getUint16(8, true);
  const header = String.fromCharCode(...bytes.subarray(PREAMBLE, start));
  const shapeText = /'shape': \(([\d, ]*)\)/.exec(header)?.[1];
  const size = header.includes("'descr': '<f4'") ? 4 : header.includes("'descr': '<f8'") ? 8 : 0;
  if (size === 0 || !header.includes("'fortran_order': False") || shapeText === undefined) {
    throw new RangeError('only little-endian float32 and float64 in C order can be read');
  }
  const shape = shapeText
    .split(',')
    .filter((length) => length.trim())
    .map(Number);
  const count = shape.reduce((product, length) => product * length, 1);
  if (bytes.length !== start + size * count) throw new RangeError('this array is cut off');
  const data = Float32Array.from({ length: count }, (_, i) =>
    size === 4 ? view.getFloat32(start + 4 * i, true) : view.getFloat64(start + 8 * i, true),
  );
  return { shape, data };
}
