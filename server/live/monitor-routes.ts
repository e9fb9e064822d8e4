/** What the page of one monitor asks for beside the board. */
import type { FastifyInstance } from 'fastify';
import { z } from 'zod';
import { refuse } from '../access/answers.ts';
import { requireAct } from '../access/require-act.ts';
import type { Post } from '../watch/post.ts';
import { historyOf } from './history.ts';
import { packetsView } from './packet-rows.ts';

const params = z.object({ id: z.string().min(1).max(64) });
const historyQuery = z.object({ minutes: z.coerce.number().min(1).max(1440).default(15) });
const packetsQuery = z.object({ limit: z.coerce.number().int().min(1).max(500).default(50) });

export function registerMonitor(app: FastifyInstance, post: Post): void {
  app.get('/api/v1/monitors/:id/history', { onRequest: requireAct('look') }, async (request, reply) => {
    const asked = params.safeParse(request.params);
    const query = historyQuery.safeParse(request.query);
    if (!asked.success || !query.success) return refuse(reply, 400, 'query-invalid', 'expected minutes from 1 to 1440');
    const monitor = post.watch.state().monitors.get(asked.data.id);
    if (monitor === undefined)
      return refuse(reply, 404, 'no-such-monitor', `${asked.data.id} was not heard in this record`);
    return historyOf(post, monitor, query.data.minutes);
  });

  app.get('/api/v1/monitors/:id/packets', { onRequest: requireAct('look') }, async (request, reply) => {
    const asked = params.safeParse(request.params);
    const query = packetsQuery.safeParse(request.query);
    if (!asked.success || !query.success) return refuse(reply, 400, 'query-invalid', 'expected limit from 1 to 500');
    return packetsView(post, asked.data.id, query.data.limit);
  });
}
