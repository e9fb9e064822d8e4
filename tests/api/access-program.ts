/** Parts of the server as programs of their own, built from the sources as they are now. */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';
import { onTestFinished } from 'vitest';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));

/** Builds `source` (a path in the repository) into a module that Node runs; returns its path. */
export async function buildProgram(source: string): Promise<{ file: string; remove(): void }> {
  const programs = join(ROOT, 'node_modules/.upwind-programs'); // within the package: it finds what it imports there
  mkdirSync(programs, { recursive: true });
  const outDir = mkdtempSync(join(programs, 'p-'));
  await build({
    configFile: false,
    root: ROOT,
    publicDir: false,
    logLevel: 'silent',
    build: {
      ssr: source,
      outDir,
      target: 'node20',
      rollupOptions: {
        external: [/server\/main\.ts$/, /\.\.\/main\.ts$/, /verify\.ts$/, /simulator\/cli\.ts$/],
        output: { entryFileNames: 'program.mjs' },
      },
    },
  });
  return {
    file: join(outDir, 'program.mjs'),
    remove: () => rmSync(outDir, { recursive: true, force: true }),
  };
}

/** A data folder that goes when the test ends. */
export function dataFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'upwind-data-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** Starts Node; it is killed when the test ends, if it has not ended by then. */
export function startNode(args: readonly string[], env: Record<string, string> = {}): ChildProcess {
  const child = spawn(process.execPath, args, {
    cwd: ROOT,
    env: { ...process.env, ...env },
    stdio: ['pipe', 'pipe', 'pipe'],
  });
  onTestFinished(() => void child.kill('SIGKILL'));
  return child;
}

/** Runs Node to its end. */
export async function runNode(args: readonly string[], options: { env?: Record<string, string>; input?: string } = {}) {
  const child = startNode(args, options.env);
  const [stdout, stderr] = [gather(child.stdout), gather(child.stderr)];
  child.stdin?.end(options.input ?? '');
  const code = await new Promise<number | null>((resolve) => child.on('close', resolve));
  return { code, stdout: stdout(), stderr: stderr() };
}

function gather(stream: NodeJS.ReadableStream | null): () => string {
  let got = '';
  stream?.setEncoding('utf8').on('data', (part: string) => {
    got += part;
  });
  return () => got;
}
