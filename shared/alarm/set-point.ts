/** What a set-point is. The table itself is data: see default-table.ts and seed-data. */
import { z } from 'zod';
import { UNITS } from '../quantity/channels.ts';

export const priority = z.enum(['danger', 'caution', 'notice']);
export type Priority = z.infer<typeof priority>;

export const setPoint = z.object({
  /** Stable within a table; part of every alarm id. */
  id: z.string().regex(/^[a-z0-9-]{1,48}$/),
  channel: z.string(),
  /**
   * What is compared. `value`: the reading. `above-background`: reading minus background. `off-background`:
   * distance from it either way. `times-background`: reading divided by it. `rise-per-minute`: change a minute over
   * the last minute. Of a person, over all the monitors worn: `stel`, the 15-minute average; `twa`, the sum of the
   * shift over 8 h; `dose`, gamma so far; `mixture`, the sum of the shares of the table's
   * lowest `twa` levels.
   */
  compare: z.enum([
    'value',
    'above-background',
    'off-background',
    'times-background',
    'rise-per-minute',
    'stel',
    'twa',
    'dose',
    'mixture',
  ]),
  direction: z.enum(['>=', '>', '<=', '<']),
  value: z.number(),
  /** Canonical unit of the channel; `x` for a multiple of the background and for a mixture; `mR` for a dose. */
  unit: z.enum([...UNITS, 'x', 'mR']),
  /** How far back past the set-point the value must come before the alarm can return, in `unit`. */
  deadband: z.number().min(0),
  onDelayMs: z.number().int().min(0),
  offDelayMs: z.number().int().min(0),
  latched: z.boolean(),
  priority,
  /** The level at which people are withdrawn: where headroom ends. */
  withdraw: z.boolean(),
  /** Neither shelved, suppressed nor put out of service, ever. */
  protected: z.boolean(),
  /** In the agency's words, or ours until it has any. */
  action: z.string(),
  /** Where the level is published. */
  source: z.string(),
  /** How sure: read in the source, in a copy of it, from memory, or what people do. */
  sourceTag: z.enum(['seen', 'seen-copy', 'memory', 'common practice']),
});
export type SetPoint = z.infer<typeof setPoint>;

/** Set-points in one table: far more than any agency has, and few enough to be checked while packets wait. */
export const MOST_SET_POINTS = 500;

export const setPointTable = z.object({
  name: z.string(),
  version: z.number().int(),
  /** Officer who adopted it; null: starting points that nobody has reviewed yet. */
  reviewedBy: z.string().nullable(),
  setPoints: z.array(setPoint).max(MOST_SET_POINTS),
});
export type SetPointTable = z.infer<typeof setPointTable>;
