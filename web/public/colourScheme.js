// Before the first paint, so that a dark page never flashes white. The same key as in src/settings/colourScheme.ts.
(() => {
  let chosen = 'auto';
  try {
    chosen = localStorage.getItem('gemel-colour-scheme') ?? 'auto';
  } catch {
    // A browser that forbids storage gets the scheme of its system.
  }
  const dark =
    chosen === 'dark' || (chosen !== 'light' && matchMedia('(prefers-color-scheme: dark)').matches);
  document.documentElement.setAttribute('data-mantine-color-scheme', dark ? 'dark' : 'light');
})();
