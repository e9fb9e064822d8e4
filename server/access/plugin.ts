/** Ties access to the web server: who asks, on every request; what they may, on every route that says so. */
import type { FastifyInstance, FastifyReply, FastifyRequest, HookHandlerDoneFunction } from 'fastify';
import type { Access } from './access.ts';
import { refuse } from './answers.ts';
import type { Identity } from './identity.ts';
import { isLoopbackHost, isOwnOrigin, mayChange, type OriginRules } from './origin.ts';
import { registerFirstRoutes, registerSessionRoutes } from './session-routes.ts';
import { registerWallRoutes } from './wall-routes.ts';

declare module 'fastify' {
  interface FastifyInstance {
    originRules: OriginRules;
  }
}

export { requireAct } from './require-act.ts';

export type AccessOptions = {
  /** The demonstration on loopback: open to look at, and one click to act. */
  open?: boolean;
  /** Origins of a proxy in front that may act beside the post's own. */
  allowedOrigins?: readonly string[];
};
export type OriginAnswer = { ok: true } | { ok: false; code: 'origin'; message: string };

const FLUSH_EVERY_MS = 60_000;
const SAFE = new Set(['GET', 'HEAD', 'OPTIONS']);
const ONLOOKER: Identity = Object.freeze({ name: 'Onlooker', role: 'viewer', by: 'demo', id: 'demo' });

/**
 * Adds `request.identity`, the origin rule and the routes under /api/v1/session, /first and /wall to `app` itself (not
 * to a child of it). Call it before any route is added, and after the WebSocket plugin.
 */
export function registerAccess(app: FastifyInstance, access: Access, options: AccessOptions = {}): void {
  const open = options.open ?? false;
  const rules: OriginRules = { secure: access.secure, allowedOrigins: options.allowedOrigins ?? [] };

  app.decorateRequest('identity', null);
  app.decorate('originRules', rules);
  app.addHook('onRequest', (request, reply, done) => {
    request.identity = access.identify(request.headers);
    const safe = SAFE.has(request.method);
    if (open && safe && request.identity === null && showsNothing(request) && isLoopbackHost(request.headers.host)) {
      request.identity = ONLOOKER;
    }
    if (safe || request.identity?.by === 'token' || keepsRules(request, reply, rules)) done();
  });
  const timer = setInterval(() => {
    try {
      access.flush();
    } catch (error) {
      app.log.warn({ error }, 'when tokens were last used could not be written'); // a full disk must not end the watch
    }
  }, FLUSH_EVERY_MS);
  timer.unref();
  app.addHook('onClose', async () => clearInterval(timer));

  registerSessionRoutes(app, access, { open });
  registerFirstRoutes(app, access);
  registerWallRoutes(app, access);
}

function showsNothing(request: FastifyRequest): boolean {
  return request.headers.authorization === undefined;
}

/** Refuses what a page of another site could send with a visitor's cookie; answers then and returns false. */
function keepsRules(request: FastifyRequest, reply: FastifyReply, rules: OriginRules): boolean {
  const { headers } = request;
  if (!mayChange(headers, rules)) {
    refuse(reply, 403, 'origin', 'this page is not of this post: what it asks is not done');
    return false;
  }
  if (request.identity === null) return true; // a login's body is checked by its route, a packet's after its token
  const type = headers['content-type'];
  const hasBody = headers['transfer-encoding'] !== undefined || Number(headers['content-length'] ?? '0') > 0;
  if ((hasBody || type !== undefined) && !/^application\/json\s*(;|$)/i.test(type ?? '')) {
    refuse(reply, 415, 'content-type', 'the body must be application/json');
    return false;
  }
  return true;
}

/** Whether a WebSocket may open: a cookie counts only with this post's own Origin, a program's token without any. */
export function checkUpgradeOrigin(request: FastifyRequest): OriginAnswer {
  const { origin, host } = request.headers;
  const byCookie = request.identity?.by === 'session' || request.identity?.by === 'wall';
  const passes = origin === undefined ? !byCookie : isOwnOrigin(origin, host, request.server.originRules);
  return passes ? { ok: true } : { ok: false, code: 'origin', message: 'a page of another site may not open this' };
}

/** The same as a hook for routes of WebSockets. */
export function requireUpgradeOrigin(
  request: FastifyRequest,
  reply: FastifyReply,
  done: HookHandlerDoneFunction,
): void {
  const answer = checkUpgradeOrigin(request);
  if (answer.ok) done();
  else refuse(reply, 403, answer.code, answer.message);
}
