import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

/**
 * Three groups, one after the other: what is pure runs on all cores; what starts servers, and what starts browsers,
 * runs by itself, because a page that must speak up within three seconds cannot share two cores with a load test.
 */
export default defineConfig({
  root: fileURLToPath(new URL('..', import.meta.url)),
  test: {
    projects: [
      {
        extends: true,
        test: {
          name: 'pure',
          include: ['tests/{unit,property,reference}/**/*.test.ts'],
          testTimeout: 30_000,
          sequence: { groupOrder: 0 },
        },
      },
      {
        extends: true,
        test: {
          name: 'server',
          include: ['tests/{api,crash}/**/*.test.ts'],
          testTimeout: 60_000,
          hookTimeout: 60_000,
          maxWorkers: 2,
          sequence: { groupOrder: 1 },
        },
      },
      {
        extends: true,
        test: {
          name: 'browser',
          include: ['tests/browser/**/*.test.ts'],
          testTimeout: 60_000,
          hookTimeout: 60_000,
          maxWorkers: 1,
          sequence: { groupOrder: 2 },
        },
      },
    ],
  },
});
