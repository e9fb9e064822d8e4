/** The table of set-points in force, and what another one would do. It is adopted by the command of that name. */
import type { FastifyInstance } from 'fastify';
import { checkTable } from '../../shared/alarm/check-table.ts';
import { tableFromText } from '../../shared/alarm/table-text.ts';
import { previewTable } from '../../shared/incident/adopt-table.ts';
import { MAX_TABLE_BYTES, type SetPointsView, type TableCheck } from '../../shared/protocol/set-points.ts';
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
      const read = tableFromText(JSON.stringify(request.body ?? null)); // by the same rules as a file
      return {
        at: source.nowIso(),
        cursor: state.cursor,
        problems: [...read.problems],
        preview: read.ok ? previewTable(state, read.table) : null,
      };
    },
  );
}
