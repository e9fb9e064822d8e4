/**
 * A channel's history as a chart and a sentence need it. A gap stays a gap: nothing here joins two readings across
 * a time in which none was heard.
 */
import type { Cell, MonitorView } from '../../shared/protocol/board.ts';
import type { HistoryChannel, HistoryFlag, HistoryLevel, HistoryPoint } from '../../shared/protocol/history.ts';

/** A time without a number, ms since 1970; `to` null: it has not ended. */
export type Gap = { readonly from: number; readonly to: number | null };
export type Extreme = { readonly value: number; readonly at: number };
export type HistorySummary = {
  readonly least: Extreme;
  readonly greatest: Extreme;
  readonly last: Extreme;
  readonly count: number;
};

const STALE_AT_LEAST_MS = 10_000;

/** How long after a reading the next one is still expected, ms: the stale time of the monitor. */
export function staleAfterMs(view: Pick<MonitorView, 'status'>): number {
  return Math.max(STALE_AT_LEAST_MS, 3 * (view.status.intervalMs ?? 1000));
}

/**
 * The channel with the newest reading at its end; unchanged when that one is not newer. A silence longer than
 * `staleMs` before it becomes a gap.
 */
export function withReading(channel: HistoryChannel, cell: Cell, staleMs: number): HistoryChannel {
  const at = Date.parse(cell.measuredAt);
  const last = channel.points.at(-1);
  if (!Number.isFinite(at) || (last && at <= last[0])) return channel;
  const points = [...channel.points];
  if (last && at - last[0] > staleMs) points.push([last[0] + staleMs, null, null, null]);
  points.push([at, cell.value, cell.value, cell.value]);
  const flags = cell.flag === undefined ? channel.flags : withFlag(channel.flags, cell.flag, at, staleMs);
  return { ...channel, unit: channel.unit ?? cell.unit, points, flags };
}

function withFlag(flags: readonly HistoryFlag[], flag: HistoryFlag['flag'], at: number, staleMs: number) {
  const last = flags.at(-1);
  if (last && last.flag === flag && at - last.to <= staleMs) return [...flags.slice(0, -1), { ...last, to: at }];
  return [...flags, { from: at, to: at, flag }];
}

/** Times without a number within `from` to `to`, silence after the last reading included. */
export function gapsOf(points: readonly HistoryPoint[], to: number, staleMs: number): Gap[] {
  const gaps: Gap[] = [];
  let since: number | null = null;
  for (const [at, value] of points) {
    if (value === null) since ??= at;
    else if (since !== null) {
      gaps.push({ from: since, to: at });
      since = null;
    }
  }
  const last = points.at(-1);
  if (since === null && last && to - last[0] > staleMs) since = last[0] + staleMs;
  if (since !== null) gaps.push({ from: since, to: null });
  return gaps;
}

/** Least, greatest and last number; null where there is none. Spans count with their least and greatest. */
export function summarize(points: readonly HistoryPoint[]): HistorySummary | null {
  let least: Extreme | null = null;
  let greatest: Extreme | null = null;
  let last: Extreme | null = null;
  let count = 0;
  for (const [at, value, low, high] of points) {
    if (value === null) continue;
    count++;
    last = { value, at };
    if (least === null || (low ?? value) < least.value) least = { value: low ?? value, at };
    if (greatest === null || (high ?? value) > greatest.value) greatest = { value: high ?? value, at };
  }
  return least && greatest && last ? { least, greatest, last, count } : null;
}

/**
 * Lower and upper end of the value axis: all readings, and the nearest level on either side of them, so that one
 * sees how far it is. `quietSpan` keeps the noise of clean air small.
 */
export function valueRange(
  summary: HistorySummary | null,
  levels: readonly HistoryLevel[],
  quietSpan: number,
): readonly [number, number] {
  const values = levels.map((level) => level.value);
  const low = summary?.least.value ?? Math.min(0, ...values);
  const high = summary?.greatest.value ?? Math.max(quietSpan, ...values);
  const above = values.filter((value) => value >= high);
  const below = values.filter((value) => value <= low);
  const from = below.length > 0 ? Math.max(...below) : low;
  const to = above.length > 0 ? Math.min(...above) : high;
  const lacking = Math.max(0, quietSpan - (to - from)) / 2;
  const room = (to - from + 2 * lacking) * 0.08 || 1;
  return [from - lacking - room, to + lacking + room];
}

/** Points from `from` on, with the last one before it, so that a line comes in from the edge. */
export function pointsSince(points: readonly HistoryPoint[], from: number): readonly HistoryPoint[] {
  const first = points.findIndex(([at]) => at >= from);
  if (first < 0) return points.slice(-1);
  return points.slice(Math.max(0, first - 1));
}
