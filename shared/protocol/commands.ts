/** What staff can ask for. Each command is idempotent by its `id`: sent twice, it is done once. */
import { z } from 'zod';
import { setPointTable } from '../alarm/set-point.ts';
import { UNITS } from '../quantity/channels.ts';
import type { Act } from './access.ts';

const common = {
  id: z.string().min(1).max(100).describe('Made by the sender, new for each act'),
  seenCursor: z.number().int().min(0).optional().describe('Cursor that the screen had drawn'),
};
const name = z.string().trim().min(1).max(100);
const why = z.string().trim().min(1).max(1000);
const alarmId = z.string().min(1).max(300);

export const commandRequest = z.discriminatedUnion('type', [
  z.object({
    ...common,
    type: z.literal('incident-open'),
    name,
    exercise: z.boolean().optional(),
    zone: z.string().max(64).optional(),
  }),
  z.object({ ...common, type: z.literal('incident-close'), why: z.string().max(1000).optional() }),
  z.object({
    ...common,
    type: z.literal('acknowledge'),
    alarm: z.string().min(1).max(300),
    occurrence: z.number().int().min(1),
    decision: z.string().trim().max(1000).optional(),
  }),
  z.object({
    ...common,
    type: z.literal('reset'),
    alarm: alarmId,
    reason: why.optional().describe('Needed where nothing has contradicted the alarm: how one knows that it is over'),
  }),
  z.object({
    ...common,
    type: z.literal('assign'),
    monitor: z.string().min(1).max(64),
    entrant: z.string().trim().min(1).max(64).nullable().describe('Call sign or place; null: handed back'),
    team: z.string().trim().min(1).max(64).optional(),
    role: z.enum(['entry', 'backup', 'decontamination', 'perimeter']).optional(),
  }),
  z.object({
    ...common,
    type: z.literal('entry'),
    entrant: z.string().trim().min(1).max(64),
    zone: z.enum(['cold', 'warm', 'hot']),
  }),
  z.object({ ...common, type: z.literal('set-points-adopt'), table: setPointTable }),
  z.object({
    ...common,
    type: z.literal('background'),
    scope: z.string().min(1).max(64).describe('A monitor, or `site`: then for all that have none of their own'),
    channels: z
      .record(z.string().regex(/^[a-z0-9-]{1,32}$/), z.object({ value: z.number(), unit: z.enum(UNITS) }))
      .optional(),
    take: z.literal(true).optional().describe('From what the monitor reads now'),
    override: why.optional().describe('Why it is taken although a check refuses it'),
    confirm: z.literal(true).optional().describe('The alarms that it silences were seen'),
  }),
  z.object({
    ...common,
    type: z.literal('shelve'),
    alarm: alarmId,
    minutes: z.number().int().min(1).max(60),
    reason: why,
  }),
  z.object({ ...common, type: z.literal('unshelve'), alarm: alarmId }),
  z.object({
    ...common,
    type: z.literal('out-of-service'),
    monitor: z.string().min(1).max(64),
    sensor: z.string().min(1).max(32).optional(),
    setPoint: z.string().min(1).max(48).optional(),
    out: z.boolean(),
    reason: why,
  }),
  z.object({ ...common, type: z.literal('note'), text: z.string().trim().min(1).max(4000) }),
]);
export type CommandRequest = z.infer<typeof commandRequest>;
export type CommandType = CommandRequest['type'];

/** Which right each command needs. */
export const COMMAND_ACT: Readonly<Record<CommandType, Act>> = {
  'incident-open': 'govern',
  'incident-close': 'govern',
  acknowledge: 'command',
  reset: 'command',
  assign: 'type-for-teams',
  entry: 'type-for-teams',
  note: 'type-for-teams',
  'set-points-adopt': 'command',
  background: 'command',
  shelve: 'command',
  unshelve: 'command',
  'out-of-service': 'command',
};

export const commandAnswer = z
  .object({
    status: z.enum(['done', 'changed', 'already', 'refused']),
    cursor: z.number().int().optional(),
    code: z.string().optional(),
    message: z.string().optional(),
    by: z.string().optional(),
    at: z.string().optional(),
  })
  .meta({ id: 'CommandAnswer' });
export type CommandAnswer = z.infer<typeof commandAnswer>;
