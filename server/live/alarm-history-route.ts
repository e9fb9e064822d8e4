/** `GET /api/v1/alarms/history`: what happened to the alarms of the current record. */
import type { FastifyInstance } from 'fastify';
import { z } from 'zod';
import { MOST_AT_ONCE } from '../../shared/protocol/alarm-history.ts';
import { refuse } from '../access/answers.ts';
import { requireAct } from '../access/require-act.ts';
import type { Post } from '../watch/post.ts';
import { createAlarmHistories } from './alarm-history.ts';

const query = z.object({
  limit: z.coerce.number().int().min(1).max(MOST_AT_ONCE).default(100),
  before: z.coerce.number().int().min(1).optional(),
  alarm: z.string().min(1).max(300).optional(),
});

export function registerAlarmHistory(app: FastifyInstance, post: Pick<Post, 'watch' | 'epoch'>): void {
  const histories = createAlarmHistories(post);
  app.addHook('onClose', async () => histories.stop());
  app.get('/api/v1/alarms/history', { onRequest: requireAct('look') }, async (request, reply) => {
    const asked = query.safeParse(request.query);
    if (!asked.success) {
      return refuse(
        reply,
        400,
        'query-invalid',
        `expected limit from 1 to ${MOST_AT_ONCE}, before a number, alarm an id`,
      );
    }
    return histories.ask(asked.data);
  });
}
