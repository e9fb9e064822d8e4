/** What happened to the alarms of the current record, newest first. */
import { z } from 'zod';
import { alarmEvent } from '../incident/events.ts';

const iso = z.string().describe('ISO 8601, UTC');

/** So many can be asked for at once. */
export const MOST_AT_ONCE = 500;

export const alarmHistoryEntry = z.object({
  number: z.number().int().describe('Running number of the event in this record; what `before` takes'),
  at: iso,
  change: alarmEvent.shape.change,
  says: z.string().describe('What happened in words, with who and why; for instance "acknowledged by R. Officer"'),
  alarm: z.string(),
  occurrence: z.number().int(),
  monitor: z.string().describe('Empty where it is about a relay'),
  entrant: z.string().optional(),
  kind: alarmEvent.shape.kind,
  sensor: z.string().optional(),
  priority: alarmEvent.shape.priority,
  state: alarmEvent.shape.state,
  words: z.string().describe('What the alarm said then, for instance "oxygen 18.9 %vol"'),
  value: z.number().optional(),
  by: z.string().optional(),
  decision: z.string().optional(),
  reason: z.string().optional(),
  late: z.boolean().optional(),
  whileDown: z.boolean().optional(),
});
export type AlarmHistoryEntry = z.infer<typeof alarmHistoryEntry>;

export const alarmHistory = z
  .object({
    epoch: z.string().describe('As in the live socket: numbers of another epoch are of another record'),
    events: z.array(alarmHistoryEntry),
    next: z.number().int().nullable().describe('`before` of the next page; null: nothing older is kept'),
    cut: z.boolean().describe('There are older ones in the record; only the newest 5,000 are kept for this'),
  })
  .meta({ id: 'AlarmHistory' });
export type AlarmHistory = z.infer<typeof alarmHistory>;
