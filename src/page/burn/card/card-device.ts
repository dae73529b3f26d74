import { CARD_LOST, DeviceLost } from '../../../base/card-watch.ts';

/** What a shader is given, by binding: a texture or a buffer of the device by its name, or numbers of its own. */
export type Binding = string | Uint8Array<ArrayBuffer>;

export interface Size {
  readonly width: number;
  readonly height: number;
  /** Left out: no array of textures. */
  readonly layers?: number;
}

/** Values of a texture from row `y` on; in `depth` layers from `layer` on. */
export interface Part {
  readonly rows: number;
  readonly columns?: number;
  readonly y?: number;
  readonly layer?: number;
  readonly depth?: number;
}

const BYTES: Readonly<Partial<Record<GPUTextureFormat, number>>> = {
  r8uint: 1,
  r32float: 4,
  rg32float: 8,
  rgba32float: 16,
  rgba32sint: 16,
  rgba8unorm: 4,
};

/** Rows of what is copied into a buffer begin at multiples of as many bytes. */
const ROW_STEP = 256;

/** The limits that pictures need and cards have more of than is promised everywhere. */
const LIMITS = ['maxTextureDimension2D', 'maxBufferSize', 'maxStorageBufferBindingSize'] as const;

/**
 * A graphics card that reckons (WebGPU), and what is kept there, by name. Work is gathered by `dispatch` and `copy…` and goes with `submit`.
 */
export class CardDevice {
  /** Resolves when the card is gone; whatever was kept there is gone too. */
  readonly lost: Promise<unknown>;
  /** Whether it is software in place of a card. */
  readonly software: boolean;
  /** Texels that a side of a texture may have. */
  readonly mostTexels: number;
  private readonly device: GPUDevice;
  private readonly textures = new Map<string, GPUTexture>();
  /** Those that shaders read as arrays, be it of one layer. */
  private readonly arrays = new Set<string>();
  private readonly buffers = new Map<string, GPUBuffer>();
  private readonly pipelines = new Map<string, GPUComputePipeline>();
  private encoder: GPUCommandEncoder | null = null;
  private numbersUsed = 0;
  private gone = false;
  private refusal: string | null = null;
  private canvas: { readonly face: OffscreenCanvas; readonly context: GPUCanvasContext } | null = null;

  private constructor(device: GPUDevice, software: boolean) {
    this.device = device;
    this.software = software;
    this.mostTexels = device.limits.maxTextureDimension2D;
    this.lost = device.lost.then(() => {
      this.gone = true;
    });
    // Want of memory is told here and nowhere else.
    device.addEventListener('uncapturederror', ({ error }) => {
      this.refusal ??= error.message;
    });
  }

  /** Null where there is none to reckon on. */
  static async open(): Promise<CardDevice | null> {
    const adapter = await globalThis.navigator?.gpu?.requestAdapter({ powerPreference: 'high-performance' });
    if (!adapter) return null;
    const requiredLimits = Object.fromEntries(LIMITS.map((name) => [name, adapter.limits[name]]));
    const device = await adapter.requestDevice({ requiredLimits });
    return new CardDevice(device, adapter.info.isFallbackAdapter);
  }

  /** A texture of that name, format and size; one that is there stays. `use`: what else is done with it than reading it in shaders. */
  texture(
    name: string,
    format: GPUTextureFormat,
    { width, height, layers }: Size,
    use: GPUTextureUsageFlags = 0,
  ): void {
    const known = this.textures.get(name);
    const depth = layers ?? 1;
    if (
      known?.width === width &&
      known.height === height &&
      known.depthOrArrayLayers === depth &&
      known.format === format
    ) {
      return;
    }
    if (known) this.letGo(known);
    if (layers) this.arrays.add(name);
    else this.arrays.delete(name);
    const usage = GPUTextureUsage.TEXTURE_BINDING | GPUTextureUsage.COPY_DST | use;
    this.textures.set(name, this.device.createTexture({ size: [width, height, depth], format, usage }));
  }

  fill(name: string, values: ArrayBufferView<ArrayBuffer>, { rows, columns, y = 0, layer = 0, depth = 1 }: Part): void {
    const texture = this.textureOf(name);
    const width = columns ?? texture.width;
    this.device.queue.writeTexture(
      { texture, origin: [0, y, layer] },
      values,
      { bytesPerRow: width * (BYTES[texture.format] ?? 0), rowsPerImage: rows },
      [width, rows, depth],
    );
  }

  /** A buffer of at least so many bytes. */
  buffer(name: string, bytes: number): void {
    const known = this.buffers.get(name);
    if (known && known.size >= bytes) return;
    if (known) this.letGo(known);
    const usage = GPUBufferUsage.STORAGE | GPUBufferUsage.COPY_DST | GPUBufferUsage.COPY_SRC;
    this.buffers.set(name, this.device.createBuffer({ size: ROW_STEP * Math.ceil(bytes / ROW_STEP), usage }));
  }

  fillBuffer(name: string, values: Float32Array<ArrayBuffer>): void {
    this.buffer(name, values.byteLength);
    this.device.queue.writeBuffer(this.bufferOf(name), 0, values);
  }

  forget(name: string): void {
    const texture = this.textures.get(name);
    if (texture) this.letGo(texture);
    this.textures.delete(name);
  }

  /** What is gathered may need it still. */
  private letGo(resource: GPUTexture | GPUBuffer): void {
    this.submit();
    resource.destroy();
  }

  /** Makes a shader ready. @throws Error if it does not compile. */
  async compile(name: string, code: () => string): Promise<void> {
    if (this.pipelines.has(name)) return;
    const module = this.device.createShaderModule({ code: code() });
    const { messages } = await this.living(() => module.getCompilationInfo());
    const fault = messages.find(({ type }) => type === 'error');
    if (fault) throw new Error(`the shader ${name} does not compile: line ${fault.lineNum}: ${fault.message}`);
    const pipeline = await this.living(() =>
      this.device.createComputePipelineAsync({ layout: 'auto', compute: { module } }),
    );
    this.pipelines.set(name, pipeline);
  }

  /** So many groups of threads of a shader that has been compiled. */
  dispatch(shader: string, bindings: readonly Binding[], groups: readonly [number, number]): void {
    const pipeline = this.pipelines.get(shader);
    if (!pipeline) throw new Error(`there is no shader ${shader}`);
    const entries = bindings.map((binding, i) => ({ binding: i, resource: this.resourceOf(binding) }));
    const group = this.device.createBindGroup({ layout: pipeline.getBindGroupLayout(0), entries });
    const pass = this.commands().beginComputePass();
    pass.setPipeline(pipeline);
    pass.setBindGroup(0, group);
    pass.dispatchWorkgroups(...groups);
    pass.end();
  }

  /** Sets a buffer to zero in its turn. */
  clear(name: string): void {
    this.commands().clearBuffer(this.bufferOf(name));
  }

  /** The values that a buffer has by then. */
  readBuffer(name: string, bytes: number): Promise<Uint8Array<ArrayBuffer>> {
    const back = this.backBuffer(bytes);
    this.commands().copyBufferToBuffer(this.bufferOf(name), 0, back, 0, bytes);
    return this.submitAndMap(back, (all) => all.slice(0, bytes));
  }

  /** The first rows of a texture by then, without gaps. */
  readTexture(name: string, { width, height }: Size): Promise<Uint8Array<ArrayBuffer>> {
    const texture = this.textureOf(name);
    const line = width * (BYTES[texture.format] ?? 0);
    const bytesPerRow = ROW_STEP * Math.ceil(line / ROW_STEP);
    const back = this.backBuffer(bytesPerRow * height);
    this.commands().copyTextureToBuffer({ texture }, { buffer: back, bytesPerRow }, [width, height]);
    return this.submitAndMap(back, (all) => {
      const out = new Uint8Array(line * height);
      for (let y = 0; y < height; y++) out.set(all.subarray(y * bytesPerRow, y * bytesPerRow + line), y * line);
      return out;
    });
  }

  /** A texture of eight bits as a picture that stays on the card and may go to another thread. */
  pictureOf(name: string): ImageBitmap {
    const texture = this.textureOf(name);
    const { width, height } = texture;
    if (this.canvas?.face.width !== width || this.canvas.face.height !== height) {
      const face = new OffscreenCanvas(width, height);
      const context = face.getContext('webgpu');
      if (!context) throw new Error('this card cannot hand over a picture');
      const usage = GPUTextureUsage.COPY_DST | GPUTextureUsage.RENDER_ATTACHMENT;
      // Nothing is to be taken for transparent: all four numbers of a texel are numbers.
      context.configure({ device: this.device, format: texture.format, usage, alphaMode: 'opaque' });
      this.canvas = { face, context };
    }
    const { face, context } = this.canvas;
    this.commands().copyTextureToTexture({ texture }, { texture: context.getCurrentTexture() }, [width, height]);
    this.submit();
    return face.transferToImageBitmap();
  }

  submit(): void {
    if (!this.encoder) return;
    this.device.queue.submit([this.encoder.finish()]);
    this.encoder = null;
    this.numbersUsed = 0;
  }

  /** Resolves when the card has done all that was submitted. @throws DeviceLost; Error if it refused something. */
  async done(): Promise<void> {
    this.submit();
    await this.living(() => this.device.queue.onSubmittedWorkDone());
    this.assertSound();
  }

  dispose(): void {
    this.gone = true;
    this.device.destroy();
  }

  private assertSound(): void {
    if (this.gone) throw new DeviceLost(CARD_LOST);
    const { refusal } = this;
    this.refusal = null;
    if (refusal !== null) throw new Error(`the graphics card refused an order: ${refusal}`);
  }

  /** Whatever goes wrong on a card that is lost goes wrong for that. */
  private async living<Value>(work: () => Promise<Value>): Promise<Value> {
    try {
      if (!this.gone) return await work();
    } catch (error) {
      // The news of the loss may come after what failed by it.
      await Promise.race([this.lost, new Promise((resolve) => setTimeout(resolve, 100))]);
      if (!this.gone) throw error;
    }
    throw new DeviceLost(CARD_LOST);
  }

  private commands(): GPUCommandEncoder {
    this.encoder ??= this.device.createCommandEncoder();
    return this.encoder;
  }

  private textureOf(name: string): GPUTexture {
    const texture = this.textures.get(name);
    if (!texture) throw new Error(`there is no texture ${name}`);
    return texture;
  }

  private bufferOf(name: string): GPUBuffer {
    const buffer = this.buffers.get(name);
    if (!buffer) throw new Error(`there is no buffer ${name}`);
    return buffer;
  }

  private resourceOf(binding: Binding): GPUBindingResource {
    if (typeof binding !== 'string') return { buffer: this.numbersOf(binding) };
    const texture = this.textures.get(binding);
    if (!texture) return { buffer: this.bufferOf(binding) };
    return texture.createView({ dimension: this.arrays.has(binding) ? '2d-array' : '2d' });
  }

  /** Numbers of one dispatch, in a buffer that the next submission uses again. */
  private numbersOf(values: Uint8Array<ArrayBuffer>): GPUBuffer {
    const name = `numbers ${this.numbersUsed++} ${values.byteLength}`;
    let buffer = this.buffers.get(name);
    if (!buffer) {
      buffer = this.device.createBuffer({
        size: values.byteLength,
        usage: GPUBufferUsage.UNIFORM | GPUBufferUsage.COPY_DST,
      });
      this.buffers.set(name, buffer);
    }
    this.device.queue.writeBuffer(buffer, 0, values);
    return buffer;
  }

  private backBuffer(bytes: number): GPUBuffer {
    return this.device.createBuffer({ size: bytes, usage: GPUBufferUsage.MAP_READ | GPUBufferUsage.COPY_DST });
  }

  private async submitAndMap<Value>(
    buffer: GPUBuffer,
    take: (bytes: Uint8Array<ArrayBuffer>) => Value,
  ): Promise<Value> {
    this.submit();
    try {
      await this.living(() => buffer.mapAsync(GPUMapMode.READ));
      this.assertSound();
      return take(new Uint8Array(buffer.getMappedRange()));
    } finally {
      buffer.destroy();
    }
  }
}
