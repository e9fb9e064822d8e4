/** Stretches in which no reading stood. Over-range is not one: the sensor read, though it gave no number. */
import { MISSING } from './samples.ts';
import { endOf, type Segment } from './tally.ts';

export type Gaps = { readonly from: number[]; readonly to: number[] };

/** Adds the part of [fromMs, toMs) that a segment leaves open; to be called in order of time. */
export function addGap(gaps: Gaps, segment: Segment): void {
  const start = segment.code === MISSING ? segment.at : endOf(segment);
  joinGap(gaps, start, segment.nextAt);
}

/** Adds a gap that is not before the last one; touching ones become one. */
export function joinGap(gaps: Gaps, fromMs: number, toMs: number): void {
  if (!(toMs > fromMs)) return;
  const last = gaps.to.length - 1;
  if (last >= 0 && fromMs <= (gaps.to[last] ?? -Infinity)) {
    if (toMs > (gaps.to[last] ?? Infinity)) gaps.to[last] = toMs;
    return;
  }
  gaps.from.push(fromMs);
  gaps.to.push(toMs);
}
