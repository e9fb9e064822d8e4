/** How long the post was down, judged when it starts again, and how sure that is. Pure. */
import { HOUR, MILLISECOND, type PostTime, toWallMs } from '../../shared/incident/time.ts';

/** A wall clock that claims more than this is not believed. Common practice, no source. */
export const LONGEST_BELIEVED_GAP_US = 30 * 24 * HOUR;

export type GapQuestion = {
  /** A post time of the last life, and what the clocks said at that moment. */
  readonly lastAt: PostTime;
  readonly lastWallOffsetMs: number;
  readonly lastBootId?: string | null;
  readonly lastBootUs?: number | null;
  /** Time of the last record, where it is later than `lastAt`: the answer is after it. */
  readonly headAt?: PostTime;
  readonly nowWallMs: number;
  readonly nowBootId?: string | null;
  readonly nowBootUs?: number | null;
};
/** `at`: post time for the first record after the gap, after all that went before. */
export type GapAnswer = { readonly at: PostTime; readonly judgedBy: 'boot-clock' | 'wall-clock' | 'unknown' };

/**
 * In one life of the machine the boot clock tells exactly. After a restart of the machine only the wall clock is
 * left, and it is believed unless it went back or claims over 30 days. Otherwise the length is unknown: post time
 * goes on without it.
 */
export function judgeGap(question: GapQuestion): GapAnswer {
  const { lastAt } = question;
  const earliest = Math.max(lastAt, question.headAt ?? lastAt) + 1;
  const slept = byBootClock(question);
  if (slept !== null) return { at: Math.max(earliest, lastAt + slept), judgedBy: 'boot-clock' };
  const byWallUs = (question.nowWallMs - toWallMs(lastAt, question.lastWallOffsetMs)) * MILLISECOND;
  const at = lastAt + byWallUs;
  // Behind the last record is also a clock that went back, seen from there.
  if (at >= earliest - 1 - MILLISECOND && byWallUs >= 0 && byWallUs < LONGEST_BELIEVED_GAP_US) {
    return { at: Math.max(earliest, at), judgedBy: 'wall-clock' };
  }
  return { at: earliest, judgedBy: 'unknown' };
}

function byBootClock(question: GapQuestion): number | null {
  const { lastBootId, lastBootUs, nowBootId, nowBootUs } = question;
  if (!lastBootId || lastBootId !== nowBootId) return null;
  if (lastBootUs === null || lastBootUs === undefined || nowBootUs === null || nowBootUs === undefined) return null;
  return nowBootUs >= lastBootUs ? nowBootUs - lastBootUs : null;
}
