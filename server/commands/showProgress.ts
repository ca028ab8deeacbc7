/** Draws a bar on standard error where that is a terminal; says nothing where it is not. */
export function showProgress(what: string): (done: number, of: number) => void {
  if (!process.stderr.isTTY) return () => {};
  const startedMs = performance.now();
  return (done, of) => {
    const share = of === 0 ? 1 : done / of;
    const elapsedS = (performance.now() - startedMs) / 1000;
    const rate = elapsedS > 0.2 ? `${(done / elapsedS).toFixed(1)}/s` : '';
    const remaining =
      share > 0.02 && share < 1 ? `${Math.ceil((elapsedS * (1 - share)) / share)} s left` : '';
    const bar = '#'.repeat(Math.round(share * 30)).padEnd(30, '.');
    process.stderr.write(
      `\r${bar} ${done} of ${of} ${what} ${rate} ${remaining}   ${done === of ? '\n' : ''}`,
    );
  };
}
