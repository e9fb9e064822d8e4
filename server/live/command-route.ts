/** `POST /api/v1/commands`: what staff do, each with its right. */
import type { FastifyInstance } from 'fastify';
import { z } from 'zod';
import { may } from '../../shared/protocol/access.ts';
import { COMMAND_ACT, commandRequest } from '../../shared/protocol/commands.ts';
import { refuse } from '../access/answers.ts';
import { requireAct } from '../access/require-act.ts';
import { NotRecordable } from '../journal/not-recordable.ts';
import type { Post } from '../watch/post.ts';

export function registerCommands(app: FastifyInstance, post: Post): void {
  app.post('/api/v1/commands', { onRequest: requireAct('look') }, async (request, reply) => {
    const { identity } = request;
    if (identity === null || identity.by === 'demo') {
      return refuse(reply, 401, 'unauthenticated', 'acting needs a login');
    }
    const asked = commandRequest.safeParse(request.body);
    if (!asked.success)
      return refuse(reply, 400, 'command-invalid', z.prettifyError(asked.error).replaceAll('\n', ' '));
    const act = COMMAND_ACT[asked.data.type];
    if (identity.by !== 'session' || !may(identity.role, act)) {
      return refuse(reply, 403, 'forbidden', `${identity.role} may not do this (${asked.data.type})`);
    }
    try {
      return await post.takeCommand(identity, asked.data);
    } catch (error) {
      if (!(error instanceof NotRecordable)) throw error;
      return refuse(reply.header('retry-after', String(error.retryAfterS)), 503, error.code, error.message);
    }
  });
}
