import { expect, test } from 'vitest';
import { trendOf } from '../../shared/incident/channel-trend.ts';
import type { ChannelState } from '../../shared/incident/state.ts';
import { SECOND } from '../../shared/incident/time.ts';

function channel(values: readonly number[]): ChannelState {
  const at = values.map((_, i) => (1_000 + i) * SECOND);
  const stamp = { at: at.at(-1) ?? 0, relayMs: undefined, boot: 'b', seq: 0 };
  return { stamp, recentAt: at, recentValue: [...values] } as unknown as ChannelState;
}

test('a steady climb of one a second is sixty a minute', () => {
  expect(trendOf(channel(Array.from({ length: 60 }, (_, i) => i)))).toBeCloseTo(60, 9);
});

test('a value that climbed to 65 and now falls is told as falling', () => {
  const up = Array.from({ length: 44 }, (_, i) => i * 1.5);
  const down = Array.from({ length: 16 }, (_, i) => 65 - 2 * i);
  expect(trendOf(channel([...up, ...down]))).toBeLessThan(-100);
});

test('too little says nothing', () => {
  expect(trendOf(channel([1, 2, 3]))).toBeNull();
});
