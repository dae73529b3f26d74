import { crc32, deflateRawSync } from 'node:zlib';

/** An entry of a zip as a test wants it written; what is left out is right. */
export interface ZipPart {
  readonly name: string;
  readonly data: Uint8Array;
  readonly deflate?: boolean;
  readonly flags?: number;
  /** What is said in place of the truth, before the data and in the list. */
  readonly says?: { readonly sum?: number; readonly size?: number; readonly packed?: number };
  /** What is said in the list only. */
  readonly lists?: { readonly name?: string; readonly offset?: number; readonly size?: number };
}

/** Writes a zip by hand, apart from the writer and the reader of the project, so that it may lie. */
export function zipOf(parts: readonly ZipPart[], { between = 0, comment = '', behind = '' } = {}): Uint8Array {
  const pieces: Buffer[] = [];
  const list: Buffer[] = [];
  let at = 0;
  const put = (bytes: Buffer) => {
    pieces.push(bytes);
    at += bytes.length;
  };
  for (const part of parts) {
    const packed = Buffer.from(part.deflate ? deflateRawSync(part.data) : part.data);
    const method = part.deflate ? 8 : 0;
    const sum = part.says?.sum ?? crc32(part.data);
    const size = part.says?.size ?? part.data.length;
    const length = part.says?.packed ?? packed.length;
    const fields = (name: string, ownSize: number, head: number[]): Buffer => {
      const bytes = Buffer.alloc(26);
      [20, part.flags ?? 0x800, method, 0, 0x21].forEach((value, i) => {
        bytes.writeUInt16LE(value, 2 * i);
      });
      bytes.writeUInt32LE(sum, 10);
      bytes.writeUInt32LE(length, 14);
      bytes.writeUInt32LE(ownSize, 18);
      bytes.writeUInt16LE(Buffer.byteLength(name), 22);
      return Buffer.concat([Buffer.from(head), bytes]);
    };
    const offset = at;
    put(Buffer.concat([fields(part.name, size, [0x50, 0x4b, 3, 4]), Buffer.from(part.name), packed]));
    put(Buffer.alloc(between));
    const listed = part.lists?.name ?? part.name;
    const more = Buffer.alloc(14);
    more.writeUInt32LE(part.lists?.offset ?? offset, 10);
    const head = [0x50, 0x4b, 1, 2, 20, 0];
    list.push(fields(listed, part.lists?.size ?? size, head), more, Buffer.from(listed));
  }
  const directory = Buffer.concat(list);
  const end = Buffer.alloc(22);
  end.writeUInt32LE(0x06054b50, 0);
  end.writeUInt16LE(parts.length, 8);
  end.writeUInt16LE(parts.length, 10);
  end.writeUInt32LE(directory.length, 12);
  end.writeUInt32LE(at, 16);
  end.writeUInt16LE(comment.length, 20);
  return new Uint8Array(Buffer.concat([...pieces, directory, end, Buffer.from(comment), Buffer.from(behind)]));
}
