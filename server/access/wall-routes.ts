/** Wall screens: paired by an officer, never logged out, able to look and nothing else. */
import type { FastifyInstance } from 'fastify';
import { z } from 'zod';
import type { Access } from './access.ts';
import { refuse } from './answers.ts';
import { WALL_COOKIE, writeCookie } from './cookies.ts';
import { requireAct } from './require-act.ts';

const WALL_LASTS_S = 10 * 365 * 86_400;
const pairRequest = z.object({ name: z.string().min(1).max(64).default('Wall screen') });
const wallRequest = z.object({ code: z.string().min(1).max(64) });

export function registerWallRoutes(app: FastifyInstance, access: Access): void {
  const officers = { onRequest: requireAct('command') };

  app.post('/api/v1/wall/pair', officers, async (request, reply) => {
    const body = pairRequest.safeParse(request.body ?? {});
    if (!body.success) return refuse(reply, 400, 'invalid', 'name: 1 to 64 characters');
    const { code, expiresAtMs } = access.pairWall(body.data);
    return reply.header('cache-control', 'no-store').send({ code, expiresAt: new Date(expiresAtMs).toISOString() });
  });

  app.post('/api/v1/wall', async (request, reply) => {
    const body = wallRequest.safeParse(request.body);
    if (!body.success) return refuse(reply, 400, 'invalid', 'code is needed');
    const answer = access.redeemWall({ code: body.data.code, address: request.ip });
    if (!answer.ok) {
      if ('retryAfterS' in answer) reply.header('retry-after', answer.retryAfterS);
      return refuse(reply, answer.code === 'wait' ? 429 : 403, answer.code, answer.message);
    }
    reply.header(
      'set-cookie',
      writeCookie(WALL_COOKIE, answer.token, { maxAgeS: WALL_LASTS_S, secure: access.secure }),
    );
    return reply.header('cache-control', 'no-store').send({ id: answer.id, role: 'viewer' });
  });

  app.get('/api/v1/wall', officers, async () => ({
    walls: access
      .listWalls()
      .filter((wall) => wall.revokedAtMs === null)
      .map((wall) => ({
        id: wall.id,
        name: wall.name,
        createdAt: iso(wall.createdAtMs),
        lastUsedAt: iso(wall.lastUsedAtMs),
      })),
  }));

  app.delete<{ Params: { id: string } }>('/api/v1/wall/:id', officers, async (request, reply) => {
    const answer = access.revokeWall(request.params.id);
    return answer.ok ? reply.code(204).send() : refuse(reply, 404, answer.code, answer.message);
  });
}

function iso(ms: number | null): string | null {
  return ms === null ? null : new Date(ms).toISOString();
}
