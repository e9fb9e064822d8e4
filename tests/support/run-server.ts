/**
 * The built server as its own process, for tests that talk to it as a relay, a program or a browser does.
 *
 *   const post = await runServer();                    // fresh folder, any free port
 *   const token = await post.token('R1');              // Authorization: Bearer …
 *   const officer = await post.staff('officer');       // officer.send('POST', '/api/v1/commands', { … })
 *   const live = await openSocket(post, '/api/v1/live', { authorization: `Bearer ${await post.viewerToken()}` });
 *   await post.kill('SIGKILL');
 *   const again = await runServer({ dataDir: post.dataDir });
 *
 * Whatever is still running when the test file ends is ended, and its folder goes.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, vi } from 'vitest';
import { WebSocket } from 'ws';
import { askServer } from '../../server/cli/control-socket.ts';

export type StaffRole = 'viewer' | 'entry' | 'officer' | 'commander';
export type Headers = Readonly<Record<string, string>>;
export type Answer = { readonly status: number; readonly headers: globalThis.Headers; readonly body: unknown };
export type Staff = {
  readonly name: string;
  /** Cookie and Origin, as a page of the post sends them. */
  readonly headers: Headers;
  send(method: string, path: string, body?: unknown): Promise<Answer>;
};
export type RunningPost = {
  readonly url: string;
  readonly dataDir: string;
  readonly pid: number;
  /** A new relay token. */
  token(relay: string): Promise<string>;
  viewerToken(name?: string): Promise<string>;
  /** A person of that role, made at the first call and logged in. */
  staff(role: StaffRole): Promise<Staff>;
  /** Sends a signal; resolves with the exit code when the process is gone (null: by the signal). */
  kill(signal: NodeJS.Signals): Promise<number | null>;
  /** SIGTERM. */
  stop(): Promise<number | null>;
  isRunning(): boolean;
  stderr(): string;
};
export type RunOptions = {
  readonly dataDir?: string;
  readonly env?: Headers;
  readonly command?: 'serve' | 'demo';
  /** Put before `node …`, for instance strace with its options. */
  readonly under?: readonly string[];
};

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
export const PROGRAM = join(process.env.UPWIND_DIST ?? join(ROOT, 'dist'), 'server/cli/main.js');
const PASSPHRASE = 'correct horse battery';
const STARTS_WITHIN_MS = 40_000;

// Whole processes on a machine that has other things to do.
vi.setConfig({ testTimeout: 60_000, hookTimeout: 60_000 });

/** Running servers and how to end them. */
const children = new Map<ChildProcess, () => void>();
const folders = new Set<string>();
afterAll(async () => {
  const ends = [...children].map(([child, end]) => {
    const gone = new Promise((resolve) => child.once('exit', resolve));
    end();
    return gone;
  });
  await Promise.all(ends);
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

/** A folder that goes when the test file ends. */
export function freshFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'upwind-run-'));
  folders.add(folder);
  return folder;
}

/** Starts the server and resolves once it serves. Rejects with what it wrote to stderr when it ends before that. */
export async function runServer(options: RunOptions = {}): Promise<RunningPost> {
  const dataDir = options.dataDir ?? freshFolder();
  const [program, ...args] = [...(options.under ?? []), process.execPath, PROGRAM, options.command ?? 'serve'];
  if (program === undefined) throw new Error('nothing to run');
  const child = spawn(program, args, {
    env: { ...process.env, HOST: '127.0.0.1', PORT: '0', LOG_LEVEL: 'warn', DATA_DIR: dataDir, ...options.env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  children.set(child, () => void child.kill('SIGKILL'));
  const stdout = gather(child.stdout);
  const stderr = gather(child.stderr);
  const exited = new Promise<number | null>((resolve) => child.once('close', resolve));
  void exited.then(() => children.delete(child));
  const url = await servingAt(child, stdout, stderr);
  // The server itself, also where another program runs it. Never 0: that would be this process and all its own.
  const pid = (options.under === undefined ? child.pid : Number(readFileSync(join(dataDir, 'lock.pid'), 'utf8'))) || -1;
  if (pid < 1) throw new Error('the server has no process number');
  const signal = (name: NodeJS.Signals) => {
    if (child.exitCode === null && child.signalCode === null) process.kill(pid, name);
    return exited;
  };
  children.set(child, () => void signal('SIGKILL'));

  const people = new Map<StaffRole, Promise<Staff>>();
  return {
    url,
    dataDir,
    pid,
    token: (relay) => makeToken(dataDir, relay, 'relay'),
    viewerToken: (name = 'reader') => makeToken(dataDir, name, 'viewer'),
    staff(role) {
      const person = people.get(role) ?? logIn(url, dataDir, role);
      people.set(role, person);
      return person;
    },
    kill: signal,
    stop: () => signal('SIGTERM'),
    isRunning: () => child.exitCode === null && child.signalCode === null,
    stderr,
  };
}

/** One HTTP exchange; the body is parsed where it is JSON. */
export async function send(
  post: Pick<RunningPost, 'url'>,
  method: string,
  path: string,
  options: { headers?: Headers; body?: unknown } = {},
): Promise<Answer> {
  const { body } = options;
  const text = body === undefined || typeof body === 'string' ? body : JSON.stringify(body);
  const answer = await fetch(`${post.url}${path}`, {
    method,
    headers: { ...(text === undefined ? {} : { 'content-type': 'application/json' }), ...options.headers },
    ...(text === undefined ? {} : { body: text }),
  });
  const got = await answer.text();
  const isJson = /^application\/json/.test(answer.headers.get('content-type') ?? '');
  return { status: answer.status, headers: answer.headers, body: isJson ? JSON.parse(got) : got };
}

export type Socket = {
  readonly socket: WebSocket;
  /** Every frame so far, parsed. */
  readonly frames: unknown[];
  /** The first frame from index `from` on that `wanted` accepts, as soon as it comes. */
  next<T>(wanted: (frame: unknown) => T | null, options?: { from?: number; withinMs?: number }): Promise<T>;
  readonly closed: Promise<number>;
};

/** Opens a WebSocket; rejects with the HTTP status in the message where the upgrade is refused. */
export async function openSocket(post: Pick<RunningPost, 'url'>, path: string, headers: Headers): Promise<Socket> {
  const socket = new WebSocket(`${post.url.replace(/^http/, 'ws')}${path}`, { headers });
  const frames: unknown[] = [];
  const waiting = new Set<() => void>();
  const wake = () => {
    for (const look of [...waiting]) look();
  };
  socket.on('message', (data) => {
    frames.push(JSON.parse(String(data)));
    wake();
  });
  const closed = new Promise<number>((resolve) => socket.once('close', resolve));
  await new Promise<void>((resolve, reject) => {
    socket.once('open', resolve);
    socket.once('unexpected-response', (request, response) => {
      request.destroy();
      reject(new Error(`the upgrade was answered ${response.statusCode ?? 0}`));
    });
    socket.once('error', reject);
  });
  socket.on('error', () => undefined);
  return {
    socket,
    frames,
    closed,
    next(wanted, { from = 0, withinMs = 15_000 } = {}) {
      let at = from;
      return new Promise((resolve, reject) => {
        const timer = setTimeout(() => {
          waiting.delete(look);
          reject(
            new Error(`no such frame within ${withinMs} ms; last: ${JSON.stringify(frames.at(-1)).slice(0, 300)}`),
          );
        }, withinMs);
        const look = () => {
          for (; at < frames.length; at += 1) {
            const found = wanted(frames[at]);
            if (found === null) continue;
            clearTimeout(timer);
            waiting.delete(look);
            resolve(found);
            return;
          }
        };
        waiting.add(look);
        look();
      });
    },
  };
}

/** Asks again until `ask` gives something, or fails at the deadline with `what`. */
export async function until<T>(
  what: string,
  ask: () => Promise<T | null | false> | T | null | false,
  withinMs = 15_000,
): Promise<T> {
  const end = performance.now() + withinMs;
  for (;;) {
    const found = await ask();
    if (found !== null && found !== false) return found;
    if (performance.now() > end) throw new Error(`not within ${withinMs} ms: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
}

async function makeToken(dataDir: string, name: string, role: 'relay' | 'viewer'): Promise<string> {
  const done = await askServer(dataDir, 'token-add', { name, role });
  if (done === null || !done.ok) throw new Error(`no token: ${JSON.stringify(done)}`);
  const { result } = done;
  if (typeof result !== 'object' || result === null || !('token' in result) || typeof result.token !== 'string') {
    throw new Error('an answer without a token');
  }
  return result.token;
}

async function logIn(url: string, dataDir: string, role: StaffRole): Promise<Staff> {
  const name = `${role}-1`;
  const made = await askServer(dataDir, 'account-add', { name, role, passphrase: PASSPHRASE });
  if (made === null || (!made.ok && !made.error.includes('already'))) throw new Error(JSON.stringify(made));
  const answer = await send({ url }, 'POST', '/api/v1/session', { body: { name, passphrase: PASSPHRASE } });
  const cookie = answer.headers.get('set-cookie')?.split(';')[0];
  if (answer.status !== 200 || cookie === undefined) throw new Error(`login: ${answer.status}`);
  const headers = { cookie, origin: url };
  return { name, headers, send: (method, path, body) => send({ url }, method, path, { headers, body }) };
}

function servingAt(child: ChildProcess, stdout: () => string, stderr: () => string): Promise<string> {
  return new Promise((resolve, reject) => {
    const late = setTimeout(() => {
      child.kill('SIGKILL');
      reject(new Error(`not serving within ${STARTS_WITHIN_MS} ms: ${stderr()}`));
    }, STARTS_WITHIN_MS);
    child.stdout?.on('data', () => {
      const url = /serving at (\S+)/.exec(stdout())?.[1];
      if (url === undefined) return;
      clearTimeout(late);
      resolve(url);
    });
    child.once('close', (code) => {
      clearTimeout(late);
      reject(new Error(`it ended with ${code}: ${stderr()}`));
    });
    child.once('error', reject);
  });
}

function gather(stream: NodeJS.ReadableStream | null): () => string {
  let got = '';
  stream?.setEncoding('utf8').on('data', (part: string) => {
    got += part;
  });
  return () => got;
}
