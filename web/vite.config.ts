import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

/** The pages are built into web/dist, which the server serves; in development they ask the server on its usual port. */
export default defineConfig({
  root: import.meta.dirname,
  plugins: [react()],
  build: {
    outDir: 'dist',
    emptyOutDir: true,
    target: 'es2022',
    assetsInlineLimit: 0,
    // Read by the bench of the first page: which files a page loads.
    manifest: true,
  },
  server: {
    host: '127.0.0.1',
    port: 4181,
    proxy: { '/api': { target: 'http://127.0.0.1:4180' } },
  },
});
