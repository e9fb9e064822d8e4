import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import type { WebSocket } from 'ws';
import { createHub, type Hub } from '../../server/live/hub.ts';
import { Screen } from '../../server/live/screen.ts';
import { createState } from '../../shared/incident/state.ts';
import { liveFrame } from '../../shared/protocol/frames.ts';

let hub: Hub;
let steadyMs = 0;
beforeEach(() => {
  vi.useFakeTimers();
  steadyMs = 0;
  const state = createState();
  hub = createHub({
    state: () => state,
    epoch: () => 'e1',
    recording: () => ({ ok: true }),
    nowIso: () => '2026-05-14T13:05:00.000Z',
    listen: () => () => {},
  });
});
afterEach(() => {
  hub.stop();
  vi.useRealTimers();
});

/** A screen, and the number of sounding screens that it was told last. */
function join() {
  let told: number | undefined;
  let heads = 0;
  const socket = {
    readyState: 1,
    OPEN: 1,
    bufferedAmount: 0,
    send(text: string) {
      const frame = liveFrame.parse(JSON.parse(text));
      const head = frame.type === 'snapshot' ? frame.board : frame.type === 'delta' ? frame.head : undefined;
      if (head === undefined) return;
      told = head.sounding;
      heads += 1;
    },
    close() {},
  };
  const identity = { kind: 'token', id: 't', name: 'n', role: 'viewer' };
  const screen = new Screen(socket as unknown as WebSocket, identity as unknown as Screen['identity'], () => steadyMs);
  hub.join(screen, null);
  return { screen, told: () => told, heads: () => heads };
}

function pass(ms: number): void {
  for (let step = 0; step < ms; step += 100) {
    steadyMs += 100;
    vi.advanceTimersByTime(100);
  }
}

test('every screen is told how many can be heard, and only when that changes', () => {
  const [a, b] = [join(), join()];
  expect([a.told(), b.told()]).toEqual([0, 0]);
  hub.tellSound(a.screen, true);
  pass(100);
  expect([a.told(), b.told()]).toEqual([1, 1]);
  const before = b.heads();
  hub.tellSound(a.screen, true);
  hub.tellSound(b.screen, false);
  pass(2000);
  expect(b.heads()).toBe(before);
  expect(join().told()).toBe(1);
  hub.tellSound(a.screen, false);
  pass(100);
  expect(b.told()).toBe(0);
});

test('one that leaves, or falls asleep, is not counted', () => {
  const [a, b, c] = [join(), join(), join()];
  hub.tellSound(a.screen, true);
  hub.tellSound(b.screen, true);
  pass(100);
  expect(c.told()).toBe(2);
  hub.leave(a.screen);
  pass(100);
  expect(c.told()).toBe(1);
  pass(14_000);
  expect(c.told()).toBe(1);
  pass(3000);
  expect(c.told()).toBe(0);
});

test('what a screen says after it left changes nothing', () => {
  const [a, b] = [join(), join()];
  hub.leave(a.screen);
  hub.tellSound(a.screen, true);
  pass(1500);
  expect(b.told()).toBe(0);
});
