/** The web server over a post: HTTP routes, sockets, and the page. Everything it needs is handed in. */
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import fastifyStatic from '@fastify/static';
import fastifyWebsocket from '@fastify/websocket';
import Fastify, { type FastifyBaseLogger, type FastifyInstance, type FastifyReply, LogController } from 'fastify';
import helmet from 'helmet';
import type { Logger } from 'pino';
import { toWallMs } from '../shared/incident/time.ts';
import { MAX_FRAME_BYTES, MAX_REQUEST_BYTES } from '../shared/protocol/packet.ts';
import type { Access } from './access/access.ts';
import { registerAccess } from './access/plugin.ts';
import { createRateLimit } from './ingest/rate-limit.ts';
import { registerPackets } from './ingest/routes.ts';
import { registerAlarmHistory } from './live/alarm-history-route.ts';
import { registerBoard } from './live/board-routes.ts';
import { registerCommands } from './live/command-route.ts';
import { registerHealth } from './live/health-routes.ts';
import { createHub, type Hub } from './live/hub.ts';
import { registerMonitor } from './live/monitor-routes.ts';
import { registerOpenApi } from './live/openapi-route.ts';
import { registerSockets } from './live/routes.ts';
import { registerSetPoints } from './live/set-point-routes.ts';
import type { Db } from './store/open-database.ts';
import type { Post } from './watch/post.ts';

export type AppDeps = {
  readonly post: Post;
  readonly access: Access;
  readonly db: Db;
  readonly log: Logger;
  readonly tls: { readonly certFile: string; readonly keyFile: string } | null;
  readonly loopback: boolean;
  readonly allowedOrigins: readonly string[];
  /** The demonstration: open to look at on loopback. */
  readonly demo: boolean;
};

const PAGE_FOLDER = fileURLToPath(new URL('../web/', import.meta.url));
const REQUEST_TIMEOUT_MS = 10_000;
/**
 * Node looks for requests that take too long every 30 s by default, and takes the longer of both times for the whole
 * request: with its headers at 60 s, the request would have that too.
 */
const SERVER = { connectionsCheckingInterval: 2_000, headersTimeout: REQUEST_TIMEOUT_MS };
/** At the end, what does not finish within this is cut off. */
const DRAIN_MS = 2_500;

/** Headers of the page; made once, because what they say is the same for every request. */
const protectPage = helmet({
  contentSecurityPolicy: {
    useDefaults: false,
    directives: {
      defaultSrc: ["'none'"],
      scriptSrc: ["'self'"],
      styleSrc: ["'self'"],
      imgSrc: ["'self'", 'data:', 'blob:'],
      connectSrc: ["'self'"],
      fontSrc: ["'self'"],
      workerSrc: ["'self'"],
      manifestSrc: ["'self'"],
      baseUri: ["'none'"],
      formAction: ["'self'"],
      frameAncestors: ["'none'"],
    },
  },
  hsts: false, // a name on a local network must stay reachable when the certificate goes
  referrerPolicy: { policy: 'no-referrer' },
});

export async function buildApp(deps: AppDeps): Promise<{ app: FastifyInstance; hub: Hub }> {
  const { post, access, log } = deps;
  const steadyMs = () => performance.now();
  const app: FastifyInstance = Fastify({
    loggerInstance: log as FastifyBaseLogger,
    logController: new LogController({ disableRequestLogging: true }), // at hundreds of packets a second a line a request hides what matters
    bodyLimit: MAX_REQUEST_BYTES,
    requestTimeout: REQUEST_TIMEOUT_MS,
    connectionTimeout: 60_000,
    keepAliveTimeout: 72_000,
    trustProxy: false,
    onProtoPoisoning: 'ignore', // an unknown key like any other; readPacket is safe against it
    onConstructorPoisoning: 'ignore',
    forceCloseConnections: 'idle', // what was asked before the end is answered
    return503OnClosing: false,
    ...(deps.tls === null
      ? { http: SERVER }
      : { https: { ...SERVER, cert: readFileSync(deps.tls.certFile), key: readFileSync(deps.tls.keyFile) } }),
  });
  app.removeContentTypeParser('text/plain'); // a body is JSON, or it is refused
  app.addHook('onRequest', (request, reply, done) => {
    if (request.url.startsWith('/api/')) setApiHeaders(reply, done);
    else protectPage(request.raw, reply.raw, (error) => done(error instanceof Error ? error : undefined));
  });
  await app.register(fastifyWebsocket, {
    options: { maxPayload: MAX_FRAME_BYTES, perMessageDeflate: false },
    errorHandler: (error, socket) => {
      log.error({ err: error }, 'a socket failed');
      socket.terminate();
    },
    preClose: (done) => {
      hub.closeAll('the post is shutting down');
      relays.drain();
      const late = setTimeout(() => {
        for (const socket of app.websocketServer.clients) socket.terminate();
        app.server.closeAllConnections();
      }, DRAIN_MS);
      app.server.once('close', () => clearTimeout(late));
      done();
    },
  });
  app.setErrorHandler((error, _request, reply) => {
    const status = statusOf(error);
    if (status >= 500) log.error({ err: error }, 'a request failed');
    const code = status === 413 ? 'too-large' : status === 400 ? 'not-json' : status >= 500 ? 'fault' : 'refused';
    const message =
      status >= 500 ? 'the post failed to answer this' : error instanceof Error ? error.message : 'refused';
    void reply.code(status).send({ error: { code, message } });
  });

  const source = {
    state: () => post.watch.state(),
    epoch: () => post.epoch(),
    recording: () => post.watch.recording(),
    nowIso: () => new Date(toWallMs(post.clock.now(), post.watch.state().wallOffsetMs)).toISOString(),
    listen: post.watch.listen.bind(post.watch),
  };
  const hub = createHub(source);
  registerAccess(app, access, { open: deps.demo && deps.loopback, allowedOrigins: deps.allowedOrigins });
  const limit = createRateLimit(steadyMs);
  const relays = registerSockets(app, { post, hub, limit, steadyMs });
  const stopWatching = access.onRevoked((id) => {
    hub.closeWhere((screen) => screen.identity.id === id, 'signed out');
    relays.closeOf(id);
  });
  registerPackets(app, post, limit);
  registerCommands(app, post);
  registerBoard(app, source, deps.db);
  registerMonitor(app, post);
  registerAlarmHistory(app, post);
  registerSetPoints(app, source);
  registerHealth(app, { post, hub, loopback: deps.loopback });
  registerOpenApi(app);
  await registerPage(app);
  app.addHook('onClose', async () => {
    stopWatching();
    hub.stop();
  });
  return { app, hub };
}

/** What a program needs, and nothing that costs: no page is ever made of an answer. */
function setApiHeaders(reply: FastifyReply, done: () => void): void {
  reply.header('x-content-type-options', 'nosniff');
  reply.header('content-security-policy', "default-src 'none'; frame-ancestors 'none'");
  reply.header('cache-control', 'no-store');
  done();
}

function statusOf(error: unknown): number {
  if (typeof error !== 'object' || error === null) return 500;
  if ('statusCode' in error && typeof error.statusCode === 'number') return error.statusCode;
  return 500;
}

/** The page, and the same index for each of its own addresses. */
async function registerPage(app: FastifyInstance): Promise<void> {
  if (!existsSync(PAGE_FOLDER)) {
    app.log.warn('the page is not built: only the API is served');
    return;
  }
  await app.register(fastifyStatic, {
    root: PAGE_FOLDER,
    setHeaders: (response, path) => {
      const hashed = path.includes('/assets/');
      response.setHeader('cache-control', hashed ? 'public, max-age=31536000, immutable' : 'no-cache');
    },
  });
  app.setNotFoundHandler((request, reply) => {
    const page = request.method === 'GET' && !request.url.startsWith('/api/') && !request.url.startsWith('/assets/');
    if (page) return reply.sendFile('index.html');
    return reply.code(404).send({ error: { code: 'not-found', message: 'there is nothing at this address' } });
  });
}
