/** What the standard library of TypeScript leaves out of WebGPU (W3C, WebGPU, "GPUBufferUsage", "GPUTextureUsage", "GPUMapMode"). */
declare const GPUBufferUsage: Readonly<
  Record<'MAP_READ' | 'COPY_SRC' | 'COPY_DST' | 'UNIFORM' | 'STORAGE', GPUBufferUsageFlags>
>;
declare const GPUTextureUsage: Readonly<
  Record<'COPY_SRC' | 'COPY_DST' | 'TEXTURE_BINDING' | 'STORAGE_BINDING' | 'RENDER_ATTACHMENT', GPUTextureUsageFlags>
>;
declare const GPUMapMode: Readonly<Record<'READ', GPUMapModeFlags>>;
interface OffscreenCanvas {
  getContext(contextId: 'webgpu'): GPUCanvasContext | null;
}
