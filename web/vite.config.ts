import react from '@vitejs/plugin-react';
import { defineConfig } from 'vitest/config';

// The page is served by the program itself. For work on it, `KW_ADDRESS=http://127.0.0.1:PORT npm run dev` hands the API on to
// a running one: open the address it printed, but with the port that vite says.
const target = process.env.KW_ADDRESS ?? 'http://127.0.0.1:8077';
// The program only answers its own origin.
const proxy = { target, changeOrigin: true, headers: { origin: target } };

export default defineConfig({
  plugins: [react()],
  build: { chunkSizeWarningLimit: 700, assetsInlineLimit: 0 },
  server: { host: '127.0.0.1', proxy: { '/api': proxy, '/open': proxy } },
  test: { environment: 'happy-dom', include: ['src/**/*.test.{ts,tsx}'] },
});
