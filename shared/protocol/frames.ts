/** Frames of the live socket to a screen, and of the relay stream. */
import { z } from 'zod';
import { alarmEvent, boardEvent } from '../incident/events.ts';
import { alarmView, board, boardHead, monitorView } from './board.ts';
import { packetResult } from './packet.ts';

/**
 * `cursor` is the last record a frame contains; a screen that resumes gives the last one it has, and gets what
 * comes after it. A screen puts whole views in place of the ones it has; it never merges fields.
 */
export const liveFrame = z.discriminatedUnion('type', [
  z.object({ type: z.literal('snapshot'), epoch: z.string(), cursor: z.number(), at: z.string(), board }),
  z.object({
    type: z.literal('delta'),
    cursor: z.number(),
    at: z.string(),
    monitors: z.array(monitorView),
    /** Ids of monitors that are gone (a new journal never drops one while it runs). */
    alarms: z.array(alarmView).describe('Alarms that changed'),
    ended: z.array(z.string()).describe('Ids of alarms that ended'),
    head: boardHead.optional().describe('When anything of it changed'),
    /** Packets of a slow screen that were passed over; their newest values are here. */
    skipped: z.number().optional(),
  }),
  z.object({
    type: z.literal('event'),
    cursor: z.number(),
    at: z.string(),
    /** Running number in this journal: one that a screen has already is a repetition after a resume. */
    number: z.number(),
    event: z.discriminatedUnion('type', [alarmEvent, boardEvent]),
  }),
  z.object({ type: z.literal('heartbeat'), cursor: z.number(), at: z.string() }),
  z.object({ type: z.literal('gone'), reason: z.string() }),
]);
export type LiveFrame = z.infer<typeof liveFrame>;

/**
 * What a screen says on the live socket. One that can be heard says so again every few seconds: the post believes it
 * for 15 s and no longer, so that a screen which fell asleep is not counted on.
 */
export const screenMessage = z
  .discriminatedUnion('type', [z.object({ type: z.literal('sound'), on: z.boolean() })])
  .meta({ id: 'ScreenMessage' });
export type ScreenMessage = z.infer<typeof screenMessage>;

export const relayFrame = z.object({ id: z.union([z.string(), z.number()]), packets: z.array(z.unknown()) });
export const relayAnswer = z.object({
  id: z.union([z.string(), z.number(), z.null()]),
  results: z.array(packetResult).optional(),
  postTime: z.string(),
  error: z.object({ code: z.string(), message: z.string(), retryAfter: z.number().optional() }).optional(),
});
export type RelayAnswer = z.infer<typeof relayAnswer>;
