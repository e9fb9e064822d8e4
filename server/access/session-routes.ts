/** Logging in, out, and the first commander of a new post. */
import type { FastifyInstance, FastifyReply } from 'fastify';
import { z } from 'zod';
import { type SessionAnswer as SessionBody, sessionRequest } from '../../shared/protocol/access.ts';
import type { Access, SessionAnswer } from './access.ts';
import { refuse } from './answers.ts';
import { readCookie, SESSION_COOKIE, writeCookie } from './cookies.ts';
import type { NewSession } from './identity.ts';
import { isLoopbackHost } from './origin.ts';
import { SESSION_LASTS_MS } from './sessions.ts';

const firstRequest = sessionRequest.extend({ code: z.string().min(1).max(128) });
const STATUS: Readonly<Record<string, number>> = {
  wrong: 401,
  wait: 429,
  busy: 503,
  code: 403,
  'name-taken': 409,
};

export function registerSessionRoutes(app: FastifyInstance, access: Access, options: { open: boolean }): void {
  app.post('/api/v1/session', async (request, reply) => {
    const body = sessionRequest.safeParse(request.body);
    if (!body.success) return refuse(reply, 400, 'invalid', 'name and passphrase are needed');
    const answer = await access.login({ ...body.data, address: request.ip });
    if (!answer.ok) request.log.warn({ name: body.data.name, code: answer.code }, 'login refused');
    return give(access, reply, answer);
  });

  app.get('/api/v1/session', async (request, reply) => {
    reply.header('cache-control', 'no-store');
    const { identity } = request;
    if (identity === null) {
      const error = { code: 'unauthenticated', message: 'nobody is logged in here' };
      return reply.code(401).send({ error, firstStart: access.firstCode() !== null, demo: options.open });
    }
    const expiresAtMs = access.sessionExpiresAtMs(readCookie(request.headers.cookie ?? '', SESSION_COOKIE) ?? '');
    const expiresAt = identity.by === 'session' && expiresAtMs !== null ? new Date(expiresAtMs).toISOString() : null;
    return { name: identity.name, role: identity.role, by: identity.by, expiresAt, demo: options.open };
  });

  app.delete('/api/v1/session', async (request, reply) => {
    const secret = readCookie(request.headers.cookie ?? '', SESSION_COOKIE);
    if (secret !== null) access.logout(secret);
    reply.header('set-cookie', writeCookie(SESSION_COOKIE, '', { maxAgeS: 0, secure: access.secure }));
    return reply.code(204).send();
  });

  if (!options.open) return;
  app.post('/api/v1/session/demo', async (request, reply) => {
    if (!isLoopbackHost(request.headers.host))
      return refuse(reply, 403, 'forbidden', 'the demonstration is for this machine alone');
    return give(access, reply, { ok: true, session: access.demoSession() });
  });
}

export function registerFirstRoutes(app: FastifyInstance, access: Access): void {
  app.post('/api/v1/first', async (request, reply) => {
    const body = firstRequest.safeParse(request.body);
    if (!body.success) return refuse(reply, 400, 'invalid', 'code, name and passphrase are needed');
    return give(access, reply, await access.redeemFirstCode(body.data));
  });
}

function give(access: Access, reply: FastifyReply, answer: SessionAnswer<string>): FastifyReply {
  reply.header('cache-control', 'no-store');
  if (answer.ok) return reply.header('set-cookie', cookieOf(access, answer.session)).send(bodyOf(answer.session));
  if ('retryAfterS' in answer) reply.header('retry-after', answer.retryAfterS);
  else if (answer.code === 'busy') reply.header('retry-after', 2);
  return refuse(reply, STATUS[answer.code] ?? 400, answer.code, answer.message);
}

function cookieOf(access: Access, session: NewSession): string {
  return writeCookie(SESSION_COOKIE, session.secret, {
    maxAgeS: SESSION_LASTS_MS / 1000,
    secure: access.secure,
  });
}

function bodyOf(session: NewSession): SessionBody {
  return { name: session.name, role: session.role, expiresAt: new Date(session.expiresAtMs).toISOString() };
}
