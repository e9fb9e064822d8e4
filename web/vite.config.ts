import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  base: '/',
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: {
    outDir: fileURLToPath(new URL('../dist/web', import.meta.url)),
    emptyOutDir: true,
    assetsDir: 'assets',
    // The content policy allows fonts and scripts from this server alone: nothing may be written into the page itself.
    assetsInlineLimit: 0,
    target: 'es2023',
    rolldownOptions: {
      output: {
        // One chunk, so that within it the setting for the schema library comes before the first schema.
        codeSplitting: {
          groups: [{ name: 'schemas', test: /node_modules\/zod\/|\/web\/without-eval\.ts|\/shared\/protocol\// }],
        },
      },
    },
    reportCompressedSize: true,
  },
  worker: { format: 'es' },
});
