/** The version in package.json, from the sources and from what is built of them. */
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';

const manifest = z.object({ name: z.string(), version: z.string() });

/** Throws when no package.json of this project is above this file. */
export function readVersion(): string {
  for (let folder = dirname(fileURLToPath(import.meta.url)); folder !== dirname(folder); folder = dirname(folder)) {
    const file = join(folder, 'package.json');
    if (!existsSync(file)) continue;
    const found = manifest.safeParse(JSON.parse(readFileSync(file, 'utf8')));
    if (found.success && found.data.name === 'upwind') return found.data.version;
  }
  throw new Error('the package.json of Upwind is missing');
}
