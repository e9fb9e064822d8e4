import { once } from 'node:events';
import { existsSync, mkdirSync, readFileSync, statSync } from 'node:fs';
import { createConnection } from 'node:net';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { type Access, createAccess } from '../../server/access/access.ts';
import { accessCommands } from '../../server/access/control.ts';
import { askServer, listenControl } from '../../server/cli/control-socket.ts';
import { takeLock } from '../../server/store/lock.ts';
import { openPostDatabase } from '../../server/store/post-database.ts';
import { buildProgram, dataFolder, runNode } from './access-program.ts';

let cli: Awaited<ReturnType<typeof buildProgram>>;
beforeAll(async () => {
  cli = await buildProgram('server/cli/main.ts');
});
afterAll(() => cli.remove());

const clock = { nowMs: () => Date.UTC(2026, 4, 14) };

function upwind(folder: string, args: string[], options: { input?: string; env?: Record<string, string> } = {}) {
  return runNode([cli.file, ...args], { ...options, env: { DATA_DIR: folder, ...options.env } });
}

/** What a running server holds: the lock, post.db and the socket. */
async function startHolder(folder: string): Promise<Access> {
  const held = takeLock(folder);
  if (!held.ok) throw new Error(held.message);
  const db = openPostDatabase(folder);
  const access = createAccess({ db, clock, secure: false });
  const control = await listenControl(folder, accessCommands(access));
  onTestFinished(async () => {
    await control.close();
    db.close();
    held.lock.release();
  });
  return access;
}

function lastLine(text: string): string {
  return text.trimEnd().split('\n').at(-1) ?? '';
}

describe('the command line with no server running', () => {
  it('adds tokens and accounts to the folder itself', async () => {
    const folder = dataFolder();
    const token = await upwind(folder, ['token', 'add', '--relay', 'R1']);
    expect(token.code).toBe(0);
    expect(token.stdout).toMatch(/^uw_[\w-]{43}\n$/);
    const account = await upwind(
      folder,
      ['account', 'add', '--name', 'Ann', '--role', 'commander', '--passphrase-stdin'],
      {
        input: 'correct horse battery\n',
      },
    );
    expect(account).toMatchObject({ code: 0, stderr: '' });
    const access = await startHolder(folder);
    expect(access.identify({ authorization: `Bearer ${token.stdout.trim()}` })).toMatchObject({
      name: 'R1',
      role: 'relay',
    });
    const login = await access.login({ name: 'Ann', passphrase: 'correct horse battery', address: 'x' });
    expect(login).toMatchObject({ ok: true, session: { role: 'commander' } });
  });
});

describe('the command line beside a running server', () => {
  it('adds and revokes tokens and accounts that count at once', async () => {
    const folder = dataFolder();
    const access = await startHolder(folder);
    expect(statSync(join(folder, 'control.sock')).mode & 0o777).toBe(0o600);
    const token = lastLine((await upwind(folder, ['token', 'add', '--viewer', 'Wall clock'])).stdout);
    const headers = { authorization: `Bearer ${token}` };
    expect(access.identify(headers)).toMatchObject({ name: 'Wall clock', role: 'viewer', by: 'token' });
    expect((await upwind(folder, ['token', 'list'])).stdout).toMatch(/^t-[0-9a-f]{12}\tviewer\tWall clock\t/);
    expect((await upwind(folder, ['token', 'revoke', 'Wall clock'])).code).toBe(0);
    expect(access.identify(headers)).toBeNull();
    const add = ['account', 'add', '--name', 'Ann', '--role', 'officer', '--passphrase-stdin'];
    expect((await upwind(folder, add, { input: 'correct horse battery' })).code).toBe(0);
    expect((await access.login({ name: 'Ann', passphrase: 'correct horse battery', address: 'x' })).ok).toBe(true);
    const taken = await upwind(folder, add, { input: 'correct horse battery' });
    expect(taken).toMatchObject({ code: 1, stdout: '', stderr: 'upwind: an account is named Ann already\n' });
  });

  it('replaces a socket that a killed server left, and takes it away at the end', async () => {
    const folder = dataFolder();
    const first = await listenControl(folder, {});
    const second = await listenControl(folder, { ping: async () => ({ ok: true, result: 'pong' }) });
    expect(await askServer(folder, 'ping', {})).toEqual({ ok: true, result: 'pong' });
    await second.close();
    await first.close();
    expect(existsSync(join(folder, 'control.sock'))).toBe(false);
    expect(await askServer(folder, 'ping', {})).toBeNull();
  });

  it('reaches it in a folder whose path is too long for a socket', async () => {
    const folder = join(dataFolder(), 'a'.repeat(60), 'b'.repeat(60));
    mkdirSync(folder, { recursive: true });
    const control = await listenControl(folder, { ping: async () => ({ ok: true, result: 'pong' }) });
    expect(existsSync(join(folder, 'control.sock'))).toBe(true);
    expect(await askServer(folder, 'ping', {})).toEqual({ ok: true, result: 'pong' });
    await control.close();
  });

  it('gets one line for what is not understood or fails, and the socket lives on', async () => {
    const folder = dataFolder();
    await startHolder(folder);
    expect(await askServer(folder, 'toString', {})).toEqual({ ok: false, error: 'unknown command toString' });
    expect(await askServer(folder, 'token-add', { name: 1 })).toEqual({
      ok: false,
      error: 'the request is not understood',
    });
    const socket = createConnection(join(folder, 'control.sock'));
    socket.end('no json\n');
    const [answer] = await once(socket, 'data');
    expect(JSON.parse(String(answer))).toMatchObject({ ok: false });
    expect(await askServer(folder, 'token-list', {})).toEqual({ ok: true, result: [] });
  });
});

describe('the command line', () => {
  const version: unknown = JSON.parse(
    readFileSync(fileURLToPath(new URL('../../package.json', import.meta.url)), 'utf8'),
  ).version;

  it('says its version, its help and what it does not know', async () => {
    const folder = dataFolder();
    expect(await upwind(folder, ['--version'])).toEqual({ code: 0, stdout: `${version}\n`, stderr: '' });
    for (const name of [[], ['serve'], ['demo'], ['token'], ['account']]) {
      const help = await upwind(folder, [...name, '--help']);
      expect([help.code, help.stderr]).toEqual([0, '']);
      expect(help.stdout).toMatch(/^Usage: upwind/);
    }
    const unknown = await upwind(folder, ['frobnicate']);
    expect([unknown.code, unknown.stdout]).toEqual([2, '']);
    expect(unknown.stderr).toMatch(/^upwind: unknown command frobnicate\n[\s\S]*serve/);
    expect((await upwind(folder, ['constructor'])).code).toBe(2);
  });

  it.each([
    [['token', 'add'], 2],
    [['token', 'add', '--relay', 'A', '--viewer', 'B'], 2],
    [['token', 'add', '--bogus'], 2],
    [['token', 'revoke', 'nobody'], 1],
    [['account', 'add', '--name', 'A', '--role', 'relay'], 2],
    [['account', 'add', '--name', 'A', '--role', 'viewer', '--passphrase-stdin'], 1],
    [['account', 'add', '--name', 'A', '--role', 'viewer'], 2],
    [['serve', 'extra'], 2],
  ])('%j ends with %i and one line', async (args, code) => {
    const done = await upwind(dataFolder(), args, { input: 'short' });
    expect([done.code, done.stdout]).toEqual([code, '']);
    expect(done.stderr).toMatch(/^upwind: [^\n]+\n$/);
  });

  it('ends with 78 and a line for each bad setting', async () => {
    const done = await upwind(dataFolder(), ['serve'], { env: { PORT: 'x', HOST: '0.0.0.0' } });
    expect(done.code).toBe(78);
    expect(done.stderr).toMatch(/^upwind: PORT: [^\n]+\nupwind: HOST: [^\n]+\n$/);
  });
});
