/** A small post with nothing but access, reached over real HTTP. */
import { request as httpRequest } from 'node:http';
import type { AddressInfo } from 'node:net';
import websocket from '@fastify/websocket';
import Database from 'better-sqlite3';
import fastify from 'fastify';
import { onTestFinished } from 'vitest';
import { type Access, createAccess } from '../../server/access/access.ts';
import { registerAccess, requireAct, requireUpgradeOrigin } from '../../server/access/plugin.ts';
import { migrate } from '../../server/store/migrate.ts';
import { POST_MIGRATIONS } from '../../server/store/post-migrations.ts';
import type { StaffRole } from '../../shared/protocol/access.ts';

export const PASSPHRASE = 'correct horse battery';
export type Headers = Record<string, string>;
export type Answer = {
  status: number;
  headers: Record<string, string | string[] | undefined>;
  body: unknown;
};
export type Post = {
  access: Access;
  clock: { now: number; nowMs(): number };
  db: Database.Database;
  host: string;
  origin: string;
  ask(method: string, path: string, options?: { headers?: Headers; body?: unknown }): Promise<Answer>;
  /** Cookie header of a person of `role` who has just logged in. */
  loginAs(role: StaffRole): Promise<string>;
};

/** Started, and closed when the test ends. */
export async function startPost(options: { open?: boolean; secure?: boolean } = {}): Promise<Post> {
  const db = new Database(':memory:');
  migrate(db, POST_MIGRATIONS);
  const clock = { now: Date.UTC(2026, 4, 14), nowMs: () => clock.now };
  const access = createAccess({ db, clock, secure: options.secure ?? false, demo: options.open ?? false });
  const app = fastify();
  await app.register(websocket);
  registerAccess(app, access, { open: options.open ?? false });
  app.get('/api/v1/board', { onRequest: requireAct('look') }, async () => ({ ok: true }));
  app.post('/api/v1/packets', { onRequest: requireAct('post-packets') }, async () => ({ ok: true }));
  for (const act of ['type-for-teams', 'command', 'govern', 'evacuate'] as const) {
    app.post(`/test/${act}`, { preHandler: requireAct(act) }, async () => ({ ok: true }));
  }
  app.register(async (child) => {
    child.get('/api/v1/live', { websocket: true, onRequest: [requireAct('look'), requireUpgradeOrigin] }, (socket) =>
      socket.send('hello'),
    );
    child.get(
      '/api/v1/relay',
      { websocket: true, onRequest: [requireAct('post-packets'), requireUpgradeOrigin] },
      (socket) => {
        socket.send('hello');
      },
    );
  });
  await app.listen({ host: '127.0.0.1', port: 0 });
  const host = `127.0.0.1:${portOf(app.server.address())}`;
  onTestFinished(async () => {
    await app.close();
    db.close();
  });
  const ask: Post['ask'] = (method, path, { headers = {}, body } = {}) =>
    send(`http://${host}${path}`, method, headers, body);
  const loginAs = async (role: StaffRole) => {
    await access.addAccount({ name: role, role, passphrase: PASSPHRASE });
    return cookieOf(await ask('POST', '/api/v1/session', { body: { name: role, passphrase: PASSPHRASE } }));
  };
  return { access, clock, db, host, origin: `http://${host}`, ask, loginAs };
}

/** What a browser would send back after `answer`. */
export function cookieOf(answer: Answer): string {
  const [first] = [answer.headers['set-cookie']].flat();
  if (first === undefined) throw new Error(`no cookie in an answer ${answer.status}`);
  return first.split(';')[0] ?? '';
}

export function codeOf(answer: Answer): unknown {
  const { body } = answer;
  const error = typeof body === 'object' && body !== null && 'error' in body ? body.error : null;
  return typeof error === 'object' && error !== null && 'code' in error ? error.code : null;
}

function portOf(address: string | AddressInfo | null): number {
  if (address === null || typeof address === 'string') throw new Error('it does not listen on a port');
  return address.port;
}

function send(url: string, method: string, headers: Headers, body: unknown): Promise<Answer> {
  const text = typeof body === 'string' ? body : body === undefined ? undefined : JSON.stringify(body);
  const type: Headers =
    text === undefined ? {} : { 'content-type': 'application/json', 'content-length': String(Buffer.byteLength(text)) };
  return new Promise((resolve, reject) => {
    const sent = httpRequest(url, { method, headers: { ...type, ...headers }, agent: false }, (answer) => {
      let got = '';
      answer.setEncoding('utf8');
      answer.on('data', (part: string) => {
        got += part;
      });
      answer.on('end', () =>
        resolve({
          status: answer.statusCode ?? 0,
          headers: answer.headers,
          body: got === '' ? null : JSON.parse(got),
        }),
      );
    });
    sent.on('error', reject);
    sent.end(text);
  });
}
