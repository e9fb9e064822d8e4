/** What the page of one monitor asks for beside the board: its channels over time, and its packets. */
import { z } from 'zod';
import { priority } from '../alarm/set-point.ts';
import { UNITS } from '../quantity/channels.ts';
import { bootId, flag, monitorId, rejectionCode, seqNumber, warning } from './packet.ts';

const iso = z.string().describe('ISO 8601, UTC');
const ms = z.number().describe('Milliseconds since 1970, UTC');

/**
 * A point stands for all readings of its short span: the last value in it, and the least and greatest. A value of
 * null is a gap: nothing was heard, or what was heard had no number. No line is ever drawn across it.
 */
export const historyPoint = z.tuple([
  ms.describe('Measured at'),
  z.number().nullable().describe('Canonical unit'),
  z.number().nullable().describe('Least of the span'),
  z.number().nullable().describe('Greatest of the span'),
]);
export type HistoryPoint = z.infer<typeof historyPoint>;

export const historyFlag = z.object({
  from: ms,
  to: ms,
  flag: z.union([flag, z.literal('not-understood')]),
});
export type HistoryFlag = z.infer<typeof historyFlag>;

export const historyLevel = z.object({
  value: z.number().describe('Canonical unit'),
  priority,
  words: z.string().describe('For instance "below 19.5"'),
});
export type HistoryLevel = z.infer<typeof historyLevel>;

export const historyChannel = z.object({
  channel: z.string(),
  unit: z.enum(UNITS).nullable(),
  points: z.array(historyPoint).describe('Oldest first'),
  flags: z.array(historyFlag),
  levels: z.array(historyLevel),
});
export type HistoryChannel = z.infer<typeof historyChannel>;

export const history = z
  .object({ monitor: monitorId, from: iso, to: iso, channels: z.array(historyChannel) })
  .meta({ id: 'History' });
export type History = z.infer<typeof history>;

export const packetRow = z.object({
  cursor: z.number().int(),
  at: iso.describe('When the post took it'),
  measuredAt: iso.nullable().describe('Null where no clock could be trusted'),
  relay: z.string().nullable(),
  boot: bootId,
  seq: seqNumber,
  readings: z.string().describe('As sent, in words: "o2 20.9 %vol, lel 0 %LEL"'),
  aside: z.array(warning).describe('Fields that were set aside, with the reason'),
  late: z.boolean().describe('A newer measurement was known already'),
});
export type PacketRow = z.infer<typeof packetRow>;

export const refusedRow = z.object({
  cursor: z.number().int(),
  at: iso,
  code: rejectionCode,
  path: z.string(),
  message: z.string(),
  raw: z.string().describe('As sent, cut to a length that can be shown'),
});
export type RefusedRow = z.infer<typeof refusedRow>;

export const monitorPackets = z
  .object({
    packets: z.array(packetRow).describe('Newest first'),
    refused: z.array(refusedRow).describe('Newest first'),
  })
  .meta({ id: 'MonitorPackets' });
export type MonitorPackets = z.infer<typeof monitorPackets>;
