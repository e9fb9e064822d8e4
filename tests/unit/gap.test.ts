import { describe, expect, it } from 'vitest';
import { type GapQuestion, judgeGap, LONGEST_BELIEVED_GAP_US } from '../../server/journal/gap.ts';

const LAST: GapQuestion = {
  lastAt: 1_800_000_000_000_000,
  lastWallOffsetMs: 500,
  lastBootId: 'boot-1',
  lastBootUs: 40_000_000,
  nowWallMs: 1_800_000_000_500,
};
const at = LAST.lastAt;

describe('how long the post was down', () => {
  it('the boot clock of the same life of the machine is exact, whatever the wall clock says', () => {
    const question = { ...LAST, nowBootId: 'boot-1', nowBootUs: 47_250_000, nowWallMs: 0 };
    expect(judgeGap(question)).toEqual({ at: at + 7_250_000, judgedBy: 'boot-clock' });
  });

  it('after a restart of the machine the wall clock is believed', () => {
    const question = { ...LAST, nowBootId: 'boot-2', nowBootUs: 9_000_000, nowWallMs: LAST.nowWallMs + 90_000 };
    expect(judgeGap(question)).toEqual({ at: at + 90_000_000, judgedBy: 'wall-clock' });
  });

  it('but not when it went back, nor over 30 days', () => {
    const unknown = { at: at + 1, judgedBy: 'unknown' };
    expect(judgeGap({ ...LAST, nowWallMs: LAST.nowWallMs - 1 })).toEqual(unknown);
    const days30 = LONGEST_BELIEVED_GAP_US / 1_000;
    expect(judgeGap({ ...LAST, nowWallMs: LAST.nowWallMs + days30 })).toEqual(unknown);
    expect(judgeGap({ ...LAST, nowWallMs: LAST.nowWallMs + days30 - 1 }).judgedBy).toBe('wall-clock');
  });

  it('without a boot clock, or with one that ran backwards, the wall clock judges', () => {
    for (const boot of [
      {},
      { nowBootId: 'boot-1' },
      { nowBootId: 'boot-1', nowBootUs: 1 },
      { nowBootId: null, nowBootUs: null },
    ]) {
      expect(judgeGap({ ...LAST, ...boot }).judgedBy).toBe('wall-clock');
    }
    expect(judgeGap({ ...LAST, lastBootId: null, lastBootUs: null, nowBootId: null, nowBootUs: 1 }).judgedBy).toBe(
      'wall-clock',
    );
  });

  it('is always after the last record', () => {
    const headAt = at + 700_000;
    expect(judgeGap({ ...LAST, headAt, nowBootId: 'boot-1', nowBootUs: 40_000_000 }).at).toBe(headAt + 1);
    // The wall clock is behind the last record: it went back.
    expect(judgeGap({ ...LAST, headAt, nowWallMs: LAST.nowWallMs + 100 })).toEqual({
      at: headAt + 1,
      judgedBy: 'unknown',
    });
    expect(judgeGap({ ...LAST, headAt, nowWallMs: LAST.nowWallMs + 800 })).toEqual({
      at: at + 800_000,
      judgedBy: 'wall-clock',
    });
  });
});
