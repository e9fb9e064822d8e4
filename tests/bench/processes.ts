/** Processes that are measured: the built post, and bare ones beside it, each on its own. */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { askServer } from '../../server/cli/control-socket.ts';

const DIST = fileURLToPath(new URL('../../', import.meta.url));

export type Running = { readonly url: string; readonly pid: number; readonly folder: string; stop(): Promise<void> };

/** Starts a compiled script with `args`; it serves once it prints an address. */
export async function startScript(
  script: string,
  args: readonly string[],
  env: Record<string, string> = {},
): Promise<Running> {
  const folder = mkdtempSync(join(tmpdir(), 'upwind-bench-'));
  const child = spawn(process.execPath, [join(DIST, script), ...args], {
    env: { ...process.env, HOST: '127.0.0.1', PORT: '0', LOG_LEVEL: 'error', DATA_DIR: folder, ...env },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const url = await addressOf(child);
  return {
    url,
    pid: child.pid ?? 0,
    folder,
    stop: () =>
      new Promise((resolve) => {
        child.once('close', () => {
          rmSync(folder, { recursive: true, force: true });
          resolve();
        });
        child.kill('SIGTERM');
      }),
  };
}

export async function startPost(): Promise<Running & { readonly token: string }> {
  const post = await startScript('server/cli/main.js', ['serve']);
  return { ...post, token: await makeToken(post.folder, 'bench', 'relay') };
}

/** Makes a token through the running post's own socket. */
export async function makeToken(folder: string, name: string, role: 'relay' | 'viewer'): Promise<string> {
  const answer = await askServer(folder, 'token-add', { name, role });
  if (answer?.ok && typeof answer.result === 'object' && answer.result !== null && 'token' in answer.result) {
    return String(answer.result.token);
  }
  throw new Error('the post gave no token');
}

function addressOf(child: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let text = '';
    child.stdout?.on('data', (chunk) => {
      text += String(chunk);
      const found = /http:\/\/\S+/.exec(text)?.[0];
      if (found !== undefined) resolve(new URL(found).origin);
    });
    child.once('close', (code) => reject(new Error(`it ended (${code}) before it served`)));
  });
}

/** CPU time of a process so far, in ms (utime and stime of /proc/PID/stat, proc(5), at 100 ticks a second). */
export function cpuMs(pid: number): number {
  const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]?.split(' ') ?? [];
  return (Number(fields[11]) + Number(fields[12])) * 10;
}
