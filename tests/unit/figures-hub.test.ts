import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import type { WebSocket } from 'ws';
import { createHub, type Hub } from '../../server/live/hub.ts';
import { Screen } from '../../server/live/screen.ts';
import { createState, type IncidentState } from '../../shared/incident/state.ts';
import { MINUTE } from '../../shared/incident/time.ts';
import { liveFrame } from '../../shared/protocol/frames.ts';

let hub: Hub;
let state: IncidentState;
beforeEach(() => {
  vi.useFakeTimers();
  state = createState();
  state.figures.annunciated = [state.now, state.now + MINUTE];
  state.now += MINUTE;
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

// The window of 10 minutes is the one of a flood (ISA-18.2 / IEC 62682 as publicly restated).
test('screens are told when an alarm is ten minutes old, though nothing else happened', () => {
  const told: (number | undefined)[] = [];
  const socket = {
    readyState: 1,
    OPEN: 1,
    bufferedAmount: 0,
    send(text: string) {
      const frame = liveFrame.parse(JSON.parse(text));
      const head = frame.type === 'snapshot' ? frame.board : frame.type === 'delta' ? frame.head : undefined;
      if (head !== undefined) told.push(head.figures?.last10Min);
    },
    close() {},
  };
  hub.join(new Screen(socket as unknown as WebSocket, {} as unknown as Screen['identity'], () => 0), null);
  vi.advanceTimersByTime(3_000);
  expect(told).toEqual([2]);
  state.now += 9 * MINUTE;
  vi.advanceTimersByTime(3_000);
  expect(told).toEqual([2, 1]);
  state.now += MINUTE;
  vi.advanceTimersByTime(3_000);
  expect(told).toEqual([2, 1, 0]);
});
