/** What a screen is given: the board, whole or by monitor. One source for the types, the API and its document. */
import { z } from 'zod';
import { priority } from '../alarm/set-point.ts';
import { alarmKind, alarmState } from '../incident/events.ts';
import { UNITS } from '../quantity/channels.ts';
import { flag } from './packet.ts';

const iso = z.string().describe('ISO 8601, UTC');

export const reason = z.object({ code: z.string(), words: z.string() });
export type Reason = z.infer<typeof reason>;
export const standing = z.enum(['good', 'doubtful', 'unusable']);
export type Standing = z.infer<typeof standing>;

export const cell = z
  .object({
    value: z.number().nullable().describe('In the canonical unit; null where there is no number'),
    unit: z.enum(UNITS).nullable(),
    raw: z
      .object({ value: z.number().optional(), unit: z.string().optional(), text: z.string().optional() })
      .nullable()
      .describe('As sent'),
    flag: z.union([flag, z.literal('not-understood')]).optional(),
    standing,
    reasons: z.array(reason),
    headroom: z
      .number()
      .min(0)
      .max(1)
      .nullable()
      .describe('Share of the way from normal to the highest level that is left'),
    ticks: z.array(z.number()).describe('Where lower levels stand on the same scale'),
    trend: z.number().nullable().describe('Change a minute in the canonical unit, over the last minute'),
    measuredAt: iso,
    background: z
      .object({ value: z.number(), assumed: z.boolean(), by: z.string().optional(), at: iso.optional() })
      .optional()
      .describe('What counts as nothing here; assumed until it was taken'),
    level: priority.nullable().describe('Worst alarm that this value meets now'),
    levelWords: z
      .string()
      .optional()
      .describe('"below 19.5 %vol"; "was below 19.5 %vol" while only deadband or off-delay hold the alarm'),
    typedBy: z.string().optional(),
    /**
     * Last five minutes, oldest first: seconds before `measuredAt`, value in the canonical unit or null for a gap.
     * Absent in a delta: the one that was sent before still stands (a new one comes about every five seconds).
     */
    spark: z.array(z.tuple([z.number(), z.number().nullable()])).optional(),
  })
  .meta({ id: 'Cell' });
export type Cell = z.infer<typeof cell>;

export const link = z.enum(['live', 'stale', 'lost']);
export type Link = z.infer<typeof link>;

export const monitorView = z
  .object({
    id: z.string(),
    entrant: z.string().optional(),
    team: z.string().optional(),
    role: z.enum(['entry', 'backup', 'decontamination', 'perimeter']).optional(),
    zone: z.enum(['cold', 'warm', 'hot']).optional().describe('As last reported for the wearer'),
    readings: z.record(z.string(), cell),
    status: z.object({
      battery: z.number().optional(),
      pump: z.enum(['running', 'blocked', 'off', 'none']).optional(),
      motion: z.enum(['moving', 'still', 'down']).optional(),
      motionSince: iso.optional(),
      help: z.boolean().optional(),
      mode: z.enum(['all', 'gas-only', 'radiation-only']).optional(),
      modeSince: iso.optional(),
      linkQuality: z.number().optional(),
      intervalMs: z.number().optional(),
      test: z.boolean().optional(),
      zeroedAt: iso.optional(),
      bumpedAt: iso.optional(),
      calibratedAt: iso.optional(),
      testDue: z.boolean().optional(),
    }),
    /** In words: what this monitor does not watch right now; empty when it watches all its channels. */
    notWatched: z.array(z.string()),
    position: z
      .object({
        lat: z.number(),
        lon: z.number(),
        accuracy: z.number().optional(),
        usng: z.string().optional(),
        at: iso,
      })
      .optional(),
    track: z
      .array(z.tuple([z.number(), z.number()]))
      .optional()
      .describe('Recent positions, lat and lon, oldest first. Absent in a delta: the one sent before still stands'),
    lastHeardAt: iso,
    link,
    relay: z.string().optional(),
    simulated: z.boolean().optional(),
    /** Newest packet that could not be taken, if it came within the last ten minutes. */
    refused: z.object({ at: iso, code: z.string(), message: z.string(), count: z.number() }).optional(),
  })
  .meta({ id: 'Monitor' });
export type MonitorView = z.infer<typeof monitorView>;

export const alarmView = z
  .object({
    id: z.string(),
    occurrence: z.number().int(),
    monitor: z.string(),
    entrant: z.string().optional(),
    kind: alarmKind,
    sensor: z.string().optional(),
    priority,
    state: alarmState,
    firstOut: z.boolean(),
    since: iso.describe('When the condition began, by measured time'),
    raisedAt: iso.describe('When the post learned of it'),
    late: z.boolean().optional(),
    value: z.number().optional(),
    worst: z.number().optional(),
    unit: z.string().optional(),
    setPoint: z.object({ id: z.string(), words: z.string(), reviewed: z.boolean() }).optional(),
    /** What it says, for instance "oxygen 18.9 %vol". */
    words: z.string(),
    action: z.string(),
    source: z.string(),
    acknowledgedBy: z.string().optional(),
    acknowledgedAt: iso.optional(),
    decision: z.string().optional(),
    whileDown: z.boolean().optional(),
    /** Nobody answered this danger in time. */
    escalated: z.boolean().optional(),
    soundedAgain: z.number().int().optional().describe('How often it sounded again because nobody answered'),
    /** It can be neither shelved nor put out of service. */
    protected: z.boolean().optional(),
    shelved: z.object({ by: z.string(), at: iso, until: iso, reason: z.string() }).optional(),
    suppressed: z.string().optional().describe('Why it does not sound, by design'),
    outOfService: z.string().optional().describe('Why it does not sound: out of service'),
    relay: z.string().optional().describe('Where it is about a relay; `monitor` is empty then'),
  })
  .meta({ id: 'Alarm' });
export type AlarmView = z.infer<typeof alarmView>;

export const relayView = z.object({
  name: z.string(),
  lastHeardAt: iso,
  clock: z.enum(['unknown', 'agrees', 'off']),
  offsetMs: z.number().nullable().describe('Relay clock minus post clock'),
});
export type RelayView = z.infer<typeof relayView>;

const figure = z.object({
  /** In `unit` of its channel. A lower bound where `partial`. */
  value: z.number(),
  partial: z.boolean(),
  coveredMs: z.number(),
  spanMs: z.number(),
  limit: z.number().nullable(),
});

/** What a person took in so far, as it was worked out at `at`. */
export const exposureSummary = z.object({
  /** ms of post time. */
  atMs: z.number(),
  fromMs: z.number(),
  /** News came too late to be in it: figures are not complete. */
  correcting: z.boolean(),
  channels: z.array(
    z.object({
      channel: z.string(),
      unit: z.string(),
      stel: figure.nullable(),
      twa: figure.nullable(),
      /** mR, background included. */
      dose: figure.nullable(),
      peak: z.number().nullable(),
      minimum: z.number().nullable(),
      overRangeMs: z.number(),
    }),
  ),
  /** Sum of shares of the limits; null where none could be formed. */
  mixture: z
    .object({ value: z.number(), complete: z.boolean(), limit: z.number().nullable(), leftOut: z.array(z.string()) })
    .nullable(),
  /** First limit that will be reached if things go on as they are; an estimate. */
  toLimit: z
    .object({
      minutes: z.number(),
      channel: z.string(),
      setPoint: z.string(),
      governs: z.enum(['reached', 'rate', 'trend']),
    })
    .nullable(),
  /** Until the person must start back; what could not be told is named, and makes it an upper bound. */
  timeLeft: z
    .object({
      minutes: z.number().nullable(),
      words: z.string().describe('For instance "leave in 9 min at most: air unknown"'),
      governs: z.object({ kind: z.string(), of: z.string().nullable() }).nullable(),
      unknown: z.array(z.string()),
    })
    .optional(),
});
export type ExposureSummary = z.infer<typeof exposureSummary>;

export const personView = z.object({
  name: z.string(),
  team: z.string().optional(),
  role: z.string().optional(),
  monitor: z.string().optional(),
  zone: z.enum(['cold', 'warm', 'hot']).optional(),
  exposure: exposureSummary.optional(),
});
export const teamView = z.object({ name: z.string(), members: z.array(z.string()) });

export const recording = z.object({
  ok: z.boolean(),
  since: iso.optional(),
  words: z.string().optional(),
});

export const incidentView = z.object({
  id: z.string(),
  name: z.string(),
  purpose: z.enum(['standby', 'incident', 'exercise']),
  exercise: z.boolean(),
  zone: z.string(),
  openedAt: iso,
});

/** Everything of the board that is not a monitor's row or an alarm. */
export const boardHead = z.object({
  incident: incidentView.nullable(),
  /** What is written to while no incident is open, too. */
  journal: z.object({
    purpose: z.enum(['standby', 'incident', 'exercise']),
    name: z.string(),
    zone: z.string(),
  }),
  recording,
  setPoints: z.object({ name: z.string(), version: z.number(), reviewed: z.boolean() }),
  relays: z.array(relayView),
  teams: z.array(teamView),
  people: z.array(personView),
  /** Last gap or clock step, in words, if within ten minutes. */
  notices: z.array(z.object({ at: iso, words: z.string() })),
  /** Packets that could not be taken and name no monitor, in the last ten minutes. */
  refusedElsewhere: z.number(),
  /** How many alarms sound: `flood` is more than ten in ten minutes, until fewer than five. */
  figures: z
    .object({
      last10Min: z.number().int(),
      flood: z.boolean(),
      chattering: z.array(z.string()).describe('Ids of alarms that came and went three times within a minute'),
    })
    .optional(),
  /** What was put out of service, and stays so until it is put back. */
  outOfService: z
    .array(
      z.object({
        monitor: z.string(),
        sensor: z.string().optional(),
        setPoint: z.string().optional(),
        by: z.string(),
        at: iso,
        reason: z.string(),
      }),
    )
    .optional(),
  /** Backgrounds that were taken; `monitor` absent: for the whole site. */
  backgrounds: z
    .array(
      z.object({
        monitor: z.string().optional(),
        channel: z.string(),
        value: z.number(),
        unit: z.string().optional(),
        by: z.string(),
        at: iso,
        override: z.string().optional(),
      }),
    )
    .optional(),
  sounding: z.number().int().min(0).optional().describe('Screens on the live socket that can be heard now'),
});
export type BoardHead = z.infer<typeof boardHead>;

export const board = boardHead
  .extend({
    epoch: z.string(),
    cursor: z.number().int(),
    at: iso,
    monitors: z.array(monitorView),
    alarms: z.array(alarmView),
  })
  .meta({ id: 'Board' });
export type Board = z.infer<typeof board>;
