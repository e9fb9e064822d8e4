/**
 * The records of a journal: everything that can change the board is one of these, and nothing else is.
 * A record is never rewritten. A new kind is added at the end of KINDS; a number is never given twice.
 */
import { z } from 'zod';
import { setPointTable } from '../alarm/set-point.ts';
import { rejectionCode } from '../protocol/packet.ts';
import type { StoredPacket } from '../protocol/stored-packet.ts';
import { UNITS } from '../quantity/channels.ts';
import { alarmEvent, boardEvent } from './events.ts';
import type { PostTime } from './time.ts';

/** Number of each kind in the file. */
export const KINDS = {
  opened: 1,
  packet: 2,
  refused: 3,
  clock: 4,
  gap: 5,
  carried: 6,
  closed: 7,
  command: 8,
  event: 9,
  difference: 10,
} as const;
export type Kind = keyof typeof KINDS;

const at = z.number().int();
const text = z.string();

/** First record of every file. */
export const opened = z.object({
  kind: z.literal('opened'),
  /** `standby` while no incident is open. */
  purpose: z.enum(['standby', 'incident', 'exercise']),
  incident: text,
  name: text,
  epoch: text,
  /** IANA name of the zone that times are shown in. */
  zone: text,
  /** Wall clock in ms since 1970 minus post time in ms, when the file was made. */
  wallOffsetMs: z.number(),
  /** When it was opened, where the last hour before stands in the file too. */
  openedAt: at.optional(),
  /** Who opened it; `post` when it opened by itself. */
  by: text,
  why: text.optional(),
  setPoints: setPointTable,
});

/** A packet from a relay that could not be taken. */
export const refused = z.object({
  kind: z.literal('refused'),
  relay: text,
  monitor: text.optional(),
  code: rejectionCode,
  path: text,
  message: text,
  /** As sent, cut at 2,048 characters. */
  raw: text,
});

/** The wall clock was found stepped. Harms no timeout: they run on post time. */
export const clock = z.object({
  kind: z.literal('clock'),
  wallOffsetBeforeMs: z.number(),
  wallOffsetAfterMs: z.number(),
});

/** The post was down, suspended or stalled. `at` is its end. */
export const gap = z.object({
  kind: z.literal('gap'),
  from: at,
  cause: z.enum(['restart', 'suspend', 'stall', 'not-recording']),
  /** How its length was judged. `unknown`: neither clock could tell, and it counts against air and PAR. */
  judgedBy: z.enum(['boot-clock', 'wall-clock', 'steady-clock', 'unknown']),
});

/** What an earlier file hands over when this one begins: the folded state as text (see state-codec.ts). */
export const carried = z.object({
  kind: z.literal('carried'),
  fromEpoch: text,
  fromCursor: z.number().int(),
  state: text,
});

export const closed = z.object({ kind: z.literal('closed'), by: text, why: text.optional() });

/** What a member of the staff did, as it was accepted. */
export const staffAct = z.discriminatedUnion('type', [
  z.object({
    type: z.literal('acknowledge'),
    alarm: text,
    occurrence: z.number().int(),
    seenCursor: z.number().int(),
    decision: text.optional(),
  }),
  z.object({ type: z.literal('reset'), alarm: text, reason: text.optional() }),
  z.object({
    type: z.literal('assign'),
    monitor: text,
    /** Call sign, or the name of a place. Null: handed back. */
    entrant: text.nullable(),
    team: text.optional(),
    role: z.enum(['entry', 'backup', 'decontamination', 'perimeter']).optional(),
  }),
  z.object({ type: z.literal('entry'), entrant: text, zone: z.enum(['cold', 'warm', 'hot']) }),
  z.object({ type: z.literal('note'), text }),
  z.object({ type: z.literal('set-points-adopt'), table: setPointTable }),
  z.object({
    type: z.literal('background'),
    /** A monitor, or SITE. */
    scope: text,
    channels: z.record(text, z.object({ value: z.number(), unit: z.enum(UNITS) })).optional(),
    /** From what the monitor reads at this record. */
    take: z.literal(true).optional(),
    override: text.optional(),
    confirm: z.literal(true).optional(),
  }),
  z.object({
    type: z.literal('shelve'),
    alarm: text,
    minutes: z.number().int().min(1).max(60),
    reason: text,
  }),
  z.object({ type: z.literal('unshelve'), alarm: text }),
  z.object({
    type: z.literal('out-of-service'),
    monitor: text,
    sensor: text.optional(),
    setPoint: text.optional(),
    out: z.boolean(),
    reason: text,
  }),
]);
export type StaffAct = z.infer<typeof staffAct>;

export const command = z.object({
  kind: z.literal('command'),
  /** Id given by the sender: the same command sent twice is one. */
  id: text,
  by: text,
  role: text,
  act: staffAct,
});

/** What the fold derived, with the fold's version: kept to compare with, never folded again. */
export const event = z.object({
  kind: z.literal('event'),
  fold: z.number().int(),
  /** Running number of the event in this journal, from 1. */
  number: z.number().int(),
  event: z.discriminatedUnion('type', [alarmEvent, boardEvent]),
});

/** A later fold derived other events than those shown at the time. */
export const difference = z.object({
  kind: z.literal('difference'),
  number: z.number().int(),
  shown: text,
  now: text,
});

export const plainRecord = z.discriminatedUnion('kind', [
  opened,
  refused,
  clock,
  gap,
  carried,
  closed,
  command,
  event,
  difference,
]);
export type PlainRecord = z.infer<typeof plainRecord>;

export type PacketRecord = {
  readonly kind: 'packet';
  /** Name of the token that sent it. */
  readonly relay: string;
  readonly packet: StoredPacket;
};

/** What a record says, before it has its place and time. */
export type RecordBody = PlainRecord | PacketRecord;
/** A record in its place: `cursor` counts from 1 without holes, `at` strictly rises with it. */
export type JournalRecord = RecordBody & { readonly cursor: number; readonly at: PostTime };
