/**
 * How a command reaches the server that holds the data folder: JSON lines `{ cmd, args }` → `{ ok, result | error }`
 * over a Unix socket in that folder, which only its owner can open.
 */
import { chmodSync, closeSync, openSync, rmSync } from 'node:fs';
import { createConnection, createServer, type Server, type Socket } from 'node:net';
import { join, relative } from 'node:path';
import { isMainThread } from 'node:worker_threads';
import { z } from 'zod';

export type ControlAnswer = { ok: true; result: unknown } | { ok: false; error: string };
export type ControlHandlers = Readonly<Record<string, (args: unknown) => Promise<ControlAnswer>>>;
export type Control = { close(): Promise<void> };

const SOCKET_FILE = 'control.sock';
const LONGEST_LINE = 65_536;
const ANSWER_WITHIN_MS = 10_000;
/** sun_path holds 108 bytes on Linux and 104 on macOS and BSD, the last of them zero. */
const LONGEST_PATH = 103;

const askSchema = z.object({ cmd: z.string(), args: z.unknown() });
const answerSchema = z.union([
  z.object({ ok: z.literal(true), result: z.unknown() }),
  z.object({ ok: z.literal(false), error: z.string() }),
]);

/** Starts to answer. The caller holds the lock on `dataDir`, so that a socket found there is a dead one. */
export async function listenControl(dataDir: string, handlers: ControlHandlers): Promise<Control> {
  const place = socketPath(dataDir);
  rmSync(join(dataDir, SOCKET_FILE), { force: true });
  const sockets = new Set<Socket>();
  const server = createServer((socket) => {
    sockets.add(socket);
    socket.on('close', () => sockets.delete(socket));
    socket.on('error', () => socket.destroy());
    eachLine(
      socket,
      (line) => void answer(handlers, line).then((text) => socket.writable && socket.write(`${text}\n`)),
    );
  });
  try {
    await listenPrivately(server, place.path);
    chmodSync(join(dataDir, SOCKET_FILE), 0o600);
  } catch (error) {
    place.done();
    throw error;
  }
  return {
    close: () =>
      new Promise((resolve) => {
        server.close(() => {
          place.done();
          resolve();
        });
        for (const socket of sockets) socket.destroy();
      }),
  };
}

/** Asks the server of `dataDir`; null when none listens there. */
export async function askServer(dataDir: string, cmd: string, args: unknown): Promise<ControlAnswer | null> {
  const place = socketPath(dataDir);
  try {
    return await ask(place.path, cmd, args);
  } finally {
    place.done();
  }
}

function ask(path: string, cmd: string, args: unknown): Promise<ControlAnswer | null> {
  return new Promise((resolve, reject) => {
    const socket = createConnection(path);
    socket.setTimeout(ANSWER_WITHIN_MS, () => socket.destroy(new Error('the running server does not answer')));
    socket.on('connect', () => socket.write(`${JSON.stringify({ cmd, args })}\n`));
    socket.on('error', (error) => (isNobody(error) ? resolve(null) : reject(error)));
    socket.on('close', () => reject(new Error('the server ended before it answered')));
    eachLine(socket, (line) => {
      const parsed = answerSchema.safeParse(parseJson(line));
      resolve(parsed.success ? parsed.data : { ok: false, error: 'the running server is of another version' });
      socket.destroy();
    });
  });
}

async function answer(handlers: ControlHandlers, line: string): Promise<string> {
  try {
    const asked = askSchema.parse(parseJson(line));
    const handler = Object.hasOwn(handlers, asked.cmd) ? handlers[asked.cmd] : undefined;
    const done: ControlAnswer = handler
      ? await handler(asked.args)
      : { ok: false, error: `unknown command ${asked.cmd}` };
    return JSON.stringify(done);
  } catch (error) {
    const message =
      error instanceof z.ZodError
        ? 'the request is not understood'
        : String(error instanceof Error ? error.message : error);
    return JSON.stringify({ ok: false, error: message });
  }
}

function eachLine(socket: Socket, take: (line: string) => void): void {
  let rest = '';
  socket.setEncoding('utf8');
  socket.on('data', (text: string) => {
    const lines = (rest + text).split('\n');
    rest = lines.pop() ?? '';
    if (rest.length > LONGEST_LINE) socket.destroy();
    for (const line of lines) take(line);
  });
}

function listenPrivately(server: Server, path: string): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    // listen() binds before it returns, so the socket is never open to others. A worker cannot set the mask; chmod follows.
    const before = isMainThread ? process.umask(0o177) : null;
    try {
      server.listen(path, resolve);
    } finally {
      if (before !== null) process.umask(before);
    }
  });
}

/** A path short enough for a socket address: the plain one, one from the working folder, or one by descriptor. */
function socketPath(dataDir: string): { path: string; done(): void } {
  const plain = join(dataDir, SOCKET_FILE);
  for (const path of [plain, relative(process.cwd(), plain)]) {
    if (Buffer.byteLength(path) <= LONGEST_PATH) return { path, done: () => undefined };
  }
  if (process.platform !== 'linux') throw new Error(`the path of the data folder is too long for a socket: ${dataDir}`);
  const fd = openSync(dataDir, 'r');
  return { path: `/proc/self/fd/${fd}/${SOCKET_FILE}`, done: () => closeSync(fd) };
}

function isNobody(error: NodeJS.ErrnoException): boolean {
  return error.code === 'ENOENT' || error.code === 'ECONNREFUSED';
}

function parseJson(line: string): unknown {
  try {
    return JSON.parse(line);
  } catch {
    return undefined;
  }
}
