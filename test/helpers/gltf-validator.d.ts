/** What the tests use of the Khronos validator, which brings no types of its own. */
declare module 'gltf-validator' {
  export interface Report {
    readonly issues: {
      readonly numErrors: number;
      readonly numWarnings: number;
      readonly numInfos: number;
      readonly messages: readonly { readonly code: string; readonly message: string; readonly severity: number }[];
    };
    readonly info: Readonly<Record<string, unknown>>;
  }
  export function validateBytes(bytes: Uint8Array, options?: Readonly<Record<string, unknown>>): Promise<Report>;
}
