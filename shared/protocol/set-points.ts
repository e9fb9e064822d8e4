/** What the page of the set-points asks for: the table in force, and what adopting another one would do. */
import { z } from 'zod';
import { priority, setPointTable } from '../alarm/set-point.ts';

/** Largest body of a table that is to be checked. */
export const MAX_TABLE_BYTES = 1024 * 1024;

export const tableProblem = z.object({
  path: z.string().describe('Where in the table, for instance `setPoints.3.deadband`; empty: the whole of it'),
  code: z.string(),
  words: z.string(),
  severity: z.enum(['error', 'warning']).describe('A warning does not keep the table from being adopted'),
});

export const setPointsView = z
  .object({
    table: setPointTable,
    problems: z.array(tableProblem),
  })
  .meta({ id: 'SetPoints' });
export type SetPointsView = z.infer<typeof setPointsView>;

export const tablePreview = z.object({
  alarms: z
    .array(
      z.object({
        monitor: z.string(),
        entrant: z.string().nullable(),
        channel: z.string(),
        setPoint: z.string(),
        priority,
        words: z.string(),
        stands: z.boolean().describe('It is an alarm by the table in force, too'),
      }),
    )
    .describe('What would be in alarm at once, by single readings as they are known; no sums over time'),
  ending: z
    .array(z.object({ alarm: z.string(), monitor: z.string(), words: z.string() }))
    .describe('Alarms that stand and whose set-point would change or go: they would ask to be answered again'),
});
export type TablePreview = z.infer<typeof tablePreview>;

export const tableCheck = z
  .object({
    at: z.string().describe('ISO 8601, UTC: the preview is of this moment'),
    cursor: z.number().int(),
    problems: z.array(tableProblem),
    preview: tablePreview.nullable().describe('Null where an error keeps the table from being adopted'),
  })
  .meta({ id: 'SetPointsCheck' });
export type TableCheck = z.infer<typeof tableCheck>;
