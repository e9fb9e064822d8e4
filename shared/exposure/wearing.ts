/** Who carried which monitor when, by measured time. */
import { joinGap } from './gaps.ts';
import type { Series } from './series.ts';

/** A monitor in one person's hands over [fromMs, toMs); null: it is worn still. */
export type WearingInterval = { readonly monitor: string; readonly fromMs: number; readonly toMs: number | null };
export type Wearing = readonly WearingInterval[];
export type SeriesOf = (monitor: string) => Series | undefined;
export type WornSpan = { readonly monitor: string; fromMs: number; toMs: number };

/**
 * What was worn within [fromMs, toMs), in order of time and whole ms. Where two intervals overlap the one that began
 * later counts (of two that began together the later in the list), so that no time is counted twice. Touching
 * intervals of one monitor become one: how a record is cut changes nothing.
 */
export function wornSpans(wearing: Wearing, fromMs: number, toMs: number): WornSpan[] {
  const sorted = [...wearing].sort((a, b) => a.fromMs - b.fromMs);
  const spans: WornSpan[] = [];
  sorted.forEach((interval, index) => {
    const next = sorted[index + 1]?.fromMs ?? Infinity;
    const from = Math.max(Math.round(interval.fromMs), Math.round(fromMs));
    const to = Math.min(Math.round(interval.toMs ?? Infinity), Math.round(next), Math.round(toMs));
    if (!(to > from)) return;
    const last = spans.at(-1);
    if (last !== undefined && last.monitor === interval.monitor && last.toMs === from) last.toMs = to;
    else spans.push({ monitor: interval.monitor, fromMs: from, toMs: to });
  });
  return spans;
}

/** When the first interval begins, ms; null with none. */
export function firstWornMs(wearing: Wearing): number | null {
  let first: number | null = null;
  for (const { fromMs } of wearing) if (first === null || fromMs < first) first = Math.round(fromMs);
  return first;
}

/** The stretches of [fromMs, toMs) between the spans, in order, with what `within` adds for each span. */
export function eachStretch(
  spans: readonly WornSpan[],
  bounds: { readonly fromMs: number; readonly toMs: number },
  gaps: { readonly from: number[]; readonly to: number[] },
  within: (span: WornSpan) => void,
): void {
  let reached = bounds.fromMs;
  for (const span of spans) {
    joinGap(gaps, reached, span.fromMs);
    within(span);
    reached = span.toMs;
  }
  joinGap(gaps, reached, bounds.toMs);
}
