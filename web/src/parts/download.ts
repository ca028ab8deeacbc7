/** Hands a file made in the page to the reader. */
export function downloadBlob(name: string, blob: Blob): void {
  const address = URL.createObjectURL(blob);
  const link = document.createElement('a');
  link.href = address;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  // Some browsers read the address only after the click has been handled.
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

/** Hands a text made in the page to the reader. */
export function downloadText(name: string, type: string, text: string): void {
  downloadBlob(name, new Blob([text], { type: `${type};charset=utf-8` }));
}
