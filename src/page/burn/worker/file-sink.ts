/** Bytes handed to the browser at once. */
const AT_ONCE = 1 << 20;

interface FileSink {
  write(bytes: Uint8Array<ArrayBuffer>): Promise<void>;
  /** The whole file, or null where it stands under its name now. */
  finish(type: string): Promise<Blob | null>;
  giveUp(): Promise<void>;
}

/**
 * Where a long file goes: to the handle's swap file, which takes the file's name once it is finished, so that no half one ever stands
 * there; without a handle into a blob, which the browser keeps off the heap.
 * @throws Error with a message for people, here and from the sink.
 */
export async function createFileSink(handle: FileSystemFileHandle | null): Promise<FileSink> {
  const stream = handle && (await told(handle.createWritable()));
  const blobs: Blob[] = [];
  let waiting: Uint8Array<ArrayBuffer>[] = [];
  let waitingBytes = 0;
  const hand = async () => {
    const blob = new Blob(waiting);
    waiting = [];
    waitingBytes = 0;
    if (stream) await told(stream.write(blob));
    else blobs.push(blob);
  };
  return {
    async write(bytes) {
      waiting.push(bytes);
      waitingBytes += bytes.length;
      if (waitingBytes >= AT_ONCE) await hand();
    },
    async finish(type) {
      await hand();
      if (stream) await told(stream.close());
      return stream ? null : new Blob(blobs, { type });
    },
    async giveUp() {
      await stream?.abort().catch(() => {});
    },
  };
}

/** Asking where to save leaves a new, empty file behind. What was there before is left alone. */
export async function removeEmpty(handle: FileSystemFileHandle & { remove?(): Promise<void> }): Promise<void> {
  try {
    if ((await handle.getFile()).size === 0) await handle.remove?.();
  } catch {
    // It is gone, or may not be touched.
  }
}

/** Takes away a file that must not be used; where the browser cannot, it is left empty. */
export async function removeFile(handle: FileSystemFileHandle & { remove?(): Promise<void> }): Promise<void> {
  try {
    await (await handle.createWritable()).close();
    await handle.remove?.();
  } catch {
    // It is gone, or may not be touched.
  }
}

const REASONS: Readonly<Record<string, string>> = {
  QuotaExceededError: 'the disk is full',
  NotAllowedError: 'the browser may not write there; choose another folder',
  NoModificationAllowedError: 'another program has that file open; close it there or choose another name',
  NotFoundError: 'the folder is not there any more; choose another one',
};

const told = <Value>(wait: Promise<Value>): Promise<Value> =>
  wait.catch(({ name, message }: Error) => {
    throw new Error(
      `The file could not be written: ${REASONS[name] ?? message}. What stood there before is unchanged.`,
    );
  });
