/**
 * What the fold says when something changed that a person may need to know. Events are derived: the same journal
 * gives the same events, to the byte, live and in replay.
 */
import { z } from 'zod';
import { priority } from '../alarm/set-point.ts';

export const alarmKind = z.enum([
  'level',
  'over-range',
  'down',
  'help',
  'still',
  'silent',
  'not-watched',
  'relay-lost',
  'exposure',
]);
export type AlarmKind = z.infer<typeof alarmKind>;

/** States by IEC 62682 as publicly restated; `normal` is an alarm that ended and is gone from the list. */
export const alarmState = z.enum([
  'unacknowledged',
  'acknowledged',
  'returned-unacknowledged',
  'latched-unacknowledged',
  'latched-acknowledged',
  'shelved',
  'suppressed',
  'out-of-service',
  'normal',
]);
export type AlarmState = z.infer<typeof alarmState>;

export const alarmEvent = z.object({
  type: z.literal('alarm'),
  at: z.number().int(),
  change: z.enum([
    'raised',
    'worse',
    'returned',
    'again',
    'acknowledged',
    'reset',
    'cleared',
    'carried',
    /** Nobody has answered for a minute, or for half of one. */
    'sounds-again',
    'escalated',
    'shelved',
    'unshelved',
    'suppressed',
    'unsuppressed',
    'out-of-service',
    'in-service',
    'set-point-changed',
  ]),
  alarm: z.string(),
  occurrence: z.number().int(),
  monitor: z.string(),
  entrant: z.string().optional(),
  kind: alarmKind,
  sensor: z.string().optional(),
  setPoint: z.string().optional(),
  priority,
  state: alarmState,
  /** Value in the canonical unit when it changed; absent where there is no number. */
  value: z.number().optional(),
  late: z.boolean().optional(),
  by: z.string().optional(),
  decision: z.string().optional(),
  /** Why it was shelved, reset or taken out of service, in the words of who did it. */
  reason: z.string().optional(),
  words: z.string(),
  /** Set when the deadline lay inside a time in which the post was down. */
  whileDown: z.boolean().optional(),
});
export type AlarmEvent = z.infer<typeof alarmEvent>;

export const boardEvent = z.object({
  type: z.literal('board'),
  at: z.number().int(),
  change: z.enum([
    'link',
    'relay-clock',
    'gap',
    'clock',
    'refused',
    'assigned',
    'zone',
    'note',
    'opened',
    'closed',
    'motion',
    'set-points',
    'background',
    'out-of-service',
    'flood',
  ]),
  monitor: z.string().optional(),
  relay: z.string().optional(),
  to: z.string().optional(),
  by: z.string().optional(),
  words: z.string(),
  whileDown: z.boolean().optional(),
});
export type BoardEvent = z.infer<typeof boardEvent>;
export type FoldEvent = AlarmEvent | BoardEvent;
