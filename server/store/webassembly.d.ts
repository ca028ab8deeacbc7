/** The part of the WebAssembly interface that is used here; the compiler's own declaration belongs to browsers. */
declare namespace WebAssembly {
  interface Instance {
    readonly exports: Record<string, unknown>;
  }
  function compile(bytes: Uint8Array): Promise<Module>;
  function instantiate(module: Module, imports: Record<string, object>): Promise<Instance>;
}
