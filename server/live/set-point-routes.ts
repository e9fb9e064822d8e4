/** The table of set-points in force, and what another one would do. It is adopted by the command of that name. */
import type { FastifyInstance } from 'fastify';
import { checkTable } from '../../shared/alarm/check-table.ts';
import { type TableRead, tableFromText } from '../../shared/alarm/table-text.ts';
import { previewTable } from '../../shared/incident/adopt-table.ts';
import {
  MAX_TABLE_BYTES,
  MOST_SET_POINTS,
  type SetPointsView,
  type TableCheck,
} from '../../shared/protocol/set-points.ts';
import { requireAct } from '../access/require-act.ts';
import type { FrameSource } from './frames.ts';

export function registerSetPoints(app: FastifyInstance, source: FrameSource): void {
  app.get('/api/v1/set-points', { onRequest: requireAct('look') }, async (): Promise<SetPointsView> => {
    const { table } = source.state();
    return { table, problems: checkTable(table) };
  });

  app.post(
    '/api/v1/set-points/check',
    { onRequest: requireAct('command'), bodyLimit: MAX_TABLE_BYTES },
    async (request): Promise<TableCheck> => {
      const state = source.state();
      const read = readTable(request.body);
      return {
        at: source.nowIso(),
        cursor: state.cursor,
        problems: [...read.problems],
        preview: read.ok ? previewTable(state, read.table) : null,
      };
    },
  );
}

/** The body is JSON already; as text it is read by the same rules as a file. */
function readTable(body: unknown): TableRead {
  if (countOf(body) > MOST_SET_POINTS) {
    const words = `More than ${MOST_SET_POINTS} set-points`;
    return { ok: false, problems: [{ path: 'setPoints', code: 'too-many', words, severity: 'error' }] };
  }
  return tableFromText(JSON.stringify(body ?? null));
}

function countOf(body: unknown): number {
  if (typeof body !== 'object' || body === null || !('setPoints' in body)) return 0;
  return Array.isArray(body.setPoints) ? body.setPoints.length : 0;
}
