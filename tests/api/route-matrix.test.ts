/** Every route of the server × everybody who can ask, against a table that is written out here. */
import { pino } from 'pino';
import { beforeAll, describe, expect, it } from 'vitest';
import { createAccess } from '../../server/access/access.ts';
import { buildApp } from '../../server/app.ts';
import { openPostDatabase } from '../../server/store/post-database.ts';
import { startPost } from '../../server/watch/post.ts';
import { freshFolder, openSocket, type RunningPost, runServer, send } from '../support/run-server.ts';
import { postPackets, sample } from '../support/sample-packets.ts';

const WHO = [
  'nobody',
  'wrong token',
  'viewer token',
  'relay token',
  'viewer',
  'entry',
  'officer',
  'commander',
] as const;
type Who = (typeof WHO)[number];
type Row = readonly [
  nobody: number,
  wrong: number,
  viewerToken: number,
  relayToken: number,
  viewer: number,
  entry: number,
  officer: number,
  commander: number,
];

const LOOK: Row = [401, 401, 200, 403, 200, 200, 200, 200];
const OPEN: Row = [200, 200, 200, 200, 200, 200, 200, 200];
const OFFICERS: Row = [401, 401, 403, 403, 403, 403, 200, 200];
const all = (status: number): Row => [status, status, status, status, status, status, status, status];

const SOCKET = 101;
const NOTE = { type: 'note', text: 'x' };
/** What each may do, as the description of the roles reads. A body that is refused as such (400) got past the check. */
const TABLE: Readonly<Record<string, { row: Row; path?: string; body?: unknown }>> = {
  'GET /healthz': { row: OPEN },
  'GET /metrics': { row: OPEN },
  'GET /api/v1/openapi.json': { row: OPEN },
  'GET /api/v1/board': { row: LOOK },
  'GET /api/v1/incidents': { row: LOOK },
  'GET /api/v1/monitors/:id/history': { row: LOOK, path: '/api/v1/monitors/M-1/history' },
  'GET /api/v1/monitors/:id/packets': { row: LOOK, path: '/api/v1/monitors/M-1/packets' },
  'GET /api/v1/alarms/history': { row: LOOK },
  'GET /api/v1/set-points': { row: LOOK },
  'POST /api/v1/set-points/check': { row: OFFICERS, body: {} },
  'GET /api/v1/live': { row: [401, 401, SOCKET, 403, SOCKET, SOCKET, SOCKET, SOCKET] },
  'GET /api/v1/relay': { row: [401, 401, 403, SOCKET, 403, 403, 403, 403] },
  'POST /api/v1/packets': { row: [401, 401, 403, 200, 403, 403, 403, 403], body: [] },
  'POST /api/v1/commands': { row: [401, 401, 403, 403, 403, 200, 200, 200], body: NOTE },
  'GET /api/v1/session': { row: [401, 401, 200, 200, 200, 200, 200, 200] },
  'POST /api/v1/session': { row: all(400), body: {} },
  'POST /api/v1/first': { row: all(400), body: {} },
  'POST /api/v1/wall': { row: all(400), body: {} },
  'POST /api/v1/wall/pair': { row: OFFICERS, body: {} },
  'GET /api/v1/wall': { row: OFFICERS },
  'DELETE /api/v1/wall/:id': { row: [401, 401, 403, 403, 403, 403, 404, 404], path: '/api/v1/wall/none' },
  'DELETE /api/v1/session': { row: all(204) }, // last: it ends the sessions
};

let post: RunningPost;
let headers: Record<Who, Record<string, string>>;
beforeAll(async () => {
  post = await runServer();
  const relay = await post.token('R1');
  const staff = async (role: 'viewer' | 'entry' | 'officer' | 'commander') => ({ ...(await post.staff(role)).headers });
  headers = {
    nobody: {},
    'wrong token': { authorization: 'Bearer uw_wrong' },
    'viewer token': { authorization: `Bearer ${await post.viewerToken()}` },
    'relay token': { authorization: `Bearer ${relay}` },
    viewer: await staff('viewer'),
    entry: await staff('entry'),
    officer: await staff('officer'),
    commander: await staff('commander'),
  };
  await postPackets(post, relay, sample('M-1', 1));
});

async function statusOf(route: string, who: Who): Promise<number> {
  const { path, body, row } = TABLE[route] ?? { row: OPEN };
  const [method = '', url = ''] = route.split(' ');
  if (row.includes(SOCKET)) {
    return openSocket(post, path ?? url, headers[who]).then(
      ({ socket }) => {
        socket.terminate();
        return SOCKET;
      },
      (error: Error) => Number(/answered (\d+)/.exec(error.message)?.[1]),
    );
  }
  const sent = body === NOTE ? { ...NOTE, id: `${route} ${who}` } : body;
  const answer = await send(post, method, path ?? url, {
    headers: headers[who],
    ...(sent === undefined ? {} : { body: sent }),
  });
  return answer.status;
}

describe('who may do what', () => {
  it.each(Object.keys(TABLE))('%s', async (route) => {
    const found: Record<string, number> = {};
    for (const who of WHO) found[who] = await statusOf(route, who);
    expect(found).toEqual(Object.fromEntries(WHO.map((who, i) => [who, TABLE[route]?.row[i]])));
  });

  it('is written here for every route that the server has', async () => {
    const dataDir = freshFolder();
    const log = pino({ level: 'silent' });
    const db = openPostDatabase(dataDir);
    const access = createAccess({ db, clock: { nowMs: () => Date.now() }, secure: false });
    const own = startPost({ dataDir, db, log, commitWindowMs: 1, zone: 'UTC', onFatal: () => undefined });
    const { app } = await buildApp({
      post: own,
      access,
      db,
      log,
      tls: null,
      loopback: true,
      allowedOrigins: [],
      demo: false,
    });
    await app.ready();
    const routes = listed(app.printRoutes({ commonPrefix: false }));
    await app.close();
    await own.stop();
    db.close();
    expect(routes.length).toBeGreaterThan(10);
    const api = routes.filter((route) => / \/(api\/|healthz|metrics)/.test(route));
    expect(api.sort()).toEqual(Object.keys(TABLE).sort());
    // Beside these there are only the files of the page, which everybody may get.
    expect(routes.filter((route) => !api.includes(route) && !route.startsWith('GET '))).toEqual([]);
  });

  it('leaves nothing at other addresses of the API', async () => {
    for (const [method, path] of [
      ['GET', '/api/v1/nothing'],
      ['PUT', '/api/v1/board'],
      ['DELETE', '/api/v1/packets'],
      ['POST', '/api/v2/packets'],
      ['GET', '/api/v1/session/demo'],
      ['POST', '/api/v1/session/demo'],
      ['GET', '/../post.db'],
      ['GET', '/api/v1/..%2f..%2fpost.db'],
    ] as const) {
      const answer = await send(post, method, path, { headers: headers.nobody });
      if (path === '/../post.db') continue; // the client itself makes /post.db of it
      expect([method, path, answer.status]).toEqual([method, path, 404]);
    }
  });
});

/** `METHOD path` of each line of Fastify's own list, HEAD and OPTIONS left out. */
function listed(tree: string): string[] {
  const stack: string[] = [];
  return tree.split('\n').flatMap((line) => {
    const found = /^([│ ]*)[├└]── (\S*)(?: \(([A-Z, ]+)\))?/.exec(line);
    if (found === null) return [];
    const depth = (found[1] ?? '').length / 4;
    stack.length = depth;
    stack.push(found[2] ?? '');
    const path = stack.join('');
    const verbs = (found[3] ?? '').split(', ').filter((verb) => verb !== '' && verb !== 'HEAD' && verb !== 'OPTIONS');
    return verbs.map((verb) => `${verb} ${path}`);
  });
}
