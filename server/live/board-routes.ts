/** The board for programs, and the list of incidents. */
import type { FastifyInstance } from 'fastify';
import { z } from 'zod';
import { boardView } from '../../shared/incident/view.ts';
import { refuse } from '../access/answers.ts';
import { requireAct } from '../access/require-act.ts';
import type { Db } from '../store/open-database.ts';
import { listIncidents } from '../watch/journal-files.ts';
import type { FrameSource } from './frames.ts';

const pastQuery = z.object({
  incident: z.string().optional(),
  at: z.string().optional(),
  cursor: z.string().optional(),
  clock: z.string().optional(),
});

export function registerBoard(app: FastifyInstance, source: FrameSource, db: Db): void {
  app.get('/api/v1/board', { onRequest: requireAct('look') }, async (request, reply) => {
    const asked = pastQuery.safeParse(request.query);
    const past = asked.success && Object.values(asked.data).some((value) => value !== undefined);
    if (!asked.success || past)
      return refuse(reply, 501, 'not-built', 'the board of a past instant is not built yet: only the present one');
    return { ...boardView(source.state(), source.epoch(), source.recording()), at: source.nowIso() };
  });

  app.get('/api/v1/incidents', { onRequest: requireAct('look') }, async () => ({ incidents: listIncidents(db) }));
}
