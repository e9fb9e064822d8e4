/** What staff can ask for. Each command is idempotent by its `id`: sent twice, it is done once. */
import { z } from 'zod';
import type { Act } from './access.ts';

const common = {
  id: z.string().min(1).max(100).describe('Made by the sender, new for each act'),
  seenCursor: z.number().int().min(0).optional().describe('Cursor that the screen had drawn'),
};
const name = z.string().trim().min(1).max(100);

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
  z.object({ ...common, type: z.literal('reset'), alarm: z.string().min(1).max(300) }),
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
