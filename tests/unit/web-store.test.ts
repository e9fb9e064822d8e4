import { effect } from '@preact/signals';
import { describe, expect, it } from 'vitest';
import { COVER_AFTER_MS, createStore, QUIET_AFTER_MS } from '../../web/feed/store.ts';
import { alarm, cell, delta, iso, snapshot, T0, view } from './web-fixtures.ts';

function hand(hidden = false) {
  let now = 1000;
  const paints: (() => void)[] = [];
  const store = createStore({
    clock: () => now,
    hidden: () => hidden,
    beforePaint: (draw) => void paints.push(draw),
  });
  return {
    store,
    wait: (ms: number) => {
      now += ms;
    },
    paint: () => {
      for (const draw of paints.splice(0)) draw();
    },
    paints,
  };
}

describe('what the page knows', () => {
  it('puts whole views in place of whole views and never keeps half of an old one', () => {
    const { store, paint } = hand();
    store.apply(snapshot([view('M-01', { entrant: 'E1-A', readings: { o2: cell(), lel: cell() } })]));
    store.apply(delta(11, { monitors: [view('M-01', { readings: { o2: cell({ value: 18.9 }) } })] }));
    paint();
    const now = store.monitor('M-01').value;
    expect(now?.readings.o2?.value).toBe(18.9);
    expect(now?.readings.lel).toBeUndefined();
    expect(now?.entrant).toBeUndefined();
  });

  it('keeps the trace of a cell where a delta brings none, and only that', () => {
    const { store, paint } = hand();
    store.apply(snapshot([view('M-01', { readings: { o2: cell({ spark: [[0, 20.9]], levelWords: 'x' }) } })]));
    store.apply(delta(11, { monitors: [view('M-01', { readings: { o2: cell({ value: 18.9 }) } })] }));
    paint();
    const now = store.monitor('M-01').value?.readings.o2;
    expect(now?.spark).toEqual([[0, 20.9]]);
    expect(now?.value).toBe(18.9);
    expect(now?.levelWords).toBeUndefined();
  });

  it('draws many frames in one paint, and redraws only the rows that changed', () => {
    const { store, paint, paints } = hand();
    store.apply(snapshot([view('M-01'), view('M-02')]));
    let first = 0;
    let second = 0;
    const stop = [
      effect(() => {
        void store.monitor('M-01').value;
        first += 1;
      }),
      effect(() => {
        void store.monitor('M-02').value;
        second += 1;
      }),
    ];
    for (let cursor = 11; cursor < 16; cursor += 1) store.apply(delta(cursor, { monitors: [view('M-01')] }));
    expect(paints.length).toBe(1);
    expect(store.cursor.value).toBe(10); // not drawn yet: an answer given now must say so
    paint();
    expect(store.cursor.value).toBe(15);
    expect([first, second]).toEqual([2, 1]);
    for (const each of stop) each();
  });

  it('takes frames at once while the page is hidden', () => {
    const { store } = hand(true);
    store.apply(snapshot([view('M-01')]));
    store.apply(delta(11, { monitors: [view('M-02')] }));
    expect(store.ids.value).toEqual(['M-01', 'M-02']);
    expect(store.cursor.value).toBe(11);
  });

  it('stands danger before caution, longest waiting first, and takes ended alarms away', () => {
    const { store, paint } = hand();
    const caution = alarm('c', { priority: 'caution', raisedAt: iso(T0 - 9000) });
    const newer = alarm('n', { raisedAt: iso(T0 + 1000) });
    store.apply(snapshot([], [caution, newer, alarm('a')]));
    expect(store.alarms.value.map((one) => one.id)).toEqual(['a', 'n', 'c']);
    store.apply(delta(11, { ended: ['a'], alarms: [{ ...caution, priority: 'danger' }] }));
    paint();
    expect(store.alarms.value.map((one) => one.id)).toEqual(['c', 'n']);
  });

  it('a new snapshot takes away what is not in it, and resumes from the newest frame received', () => {
    const { store } = hand();
    store.apply(snapshot([view('M-01'), view('M-02')]));
    store.apply(delta(12));
    expect(store.resumeFrom()).toEqual({ epoch: 'e1', cursor: 12 });
    store.apply(snapshot([view('M-02')], [], 3, 'e2'));
    store.tick();
    expect(store.ids.value).toEqual(['M-02']);
    expect(store.monitor('M-01').value).toBeUndefined();
    expect(store.cursor.value).toBe(3);
  });
});

describe('a post that says nothing', () => {
  it('is told as quiet within 3 s and covered within 5 s, a tick of 250 ms included', () => {
    expect(QUIET_AFTER_MS + 250).toBeLessThanOrEqual(3000);
    expect(COVER_AFTER_MS + 250).toBeLessThanOrEqual(5000);
    const { store, wait } = hand();
    store.tick();
    expect(store.feed.value.phase).toBe('connecting');
    store.apply(snapshot([view('M-01')]));
    expect(store.feed.value.phase).toBe('live');
    wait(QUIET_AFTER_MS - 1);
    store.tick();
    expect(store.feed.value.phase).toBe('live');
    wait(1);
    store.tick();
    expect(store.feed.value.phase).toBe('quiet');
    wait(COVER_AFTER_MS - QUIET_AFTER_MS);
    store.tick();
    expect(store.feed.value.phase).toBe('covered');
  });

  it('comes back with the next frame, whose values are drawn before the cover goes', () => {
    const { store, wait } = hand();
    store.apply(snapshot([view('M-01')]));
    wait(60_000);
    store.tick();
    const seen: unknown[] = [];
    const stop = effect(() => {
      if (store.feed.value.phase === 'live') seen.push(store.monitor('M-01').peek()?.readings.o2?.value);
    });
    store.apply(delta(11, { monitors: [view('M-01', { readings: { o2: cell({ value: 18.9 }) } })] }));
    expect(seen).toEqual([18.9]);
    stop();
  });

  it('says why it is gone until it is heard again', () => {
    const { store, wait } = hand();
    store.apply(snapshot([view('M-01')]));
    store.apply({ type: 'gone', reason: 'the post is being stopped' });
    wait(10_000);
    store.tick();
    expect(store.feed.value).toMatchObject({ phase: 'gone', reason: 'the post is being stopped' });
    store.apply(delta(11));
    expect(store.feed.value.phase).toBe('live');
  });
});

describe("the post's clock", () => {
  it('moves on by the monotonic clock, in whole seconds, from the frame with the least delay', () => {
    const { store, wait, paint } = hand();
    store.apply(snapshot([]));
    expect(store.nowMs.value).toBe(T0);
    wait(2400);
    store.tick();
    expect(store.nowMs.value).toBe(T0 + 2000);
    // A frame that was held up for 0.4 s does not set the clock back.
    store.apply({ type: 'heartbeat', cursor: 11, at: iso(T0 + 2000) });
    paint();
    wait(600);
    store.tick();
    expect(store.nowMs.value).toBe(T0 + 3000);
  });

  it("follows when the post's own clock was set back", () => {
    const { store, wait } = hand();
    store.apply(snapshot([]));
    wait(1000);
    store.apply({ type: 'heartbeat', cursor: 11, at: iso(T0 - 3_600_000) });
    store.tick();
    expect(store.nowMs.value).toBe(T0 - 3_600_000);
  });
});
