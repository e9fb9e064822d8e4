import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createGate, createQueue, LONGEST_WAIT_MS, waitAfterMs } from '../../server/access/gate.ts';

function setUp() {
  const clock = { now: 1_000_000, nowMs: () => clock.now };
  return { clock, gate: createGate(clock) };
}

describe('the gate before a login', () => {
  it('lets five tries through, then makes each wait longer, up to a minute', () => {
    const { clock, gate } = setUp();
    for (let i = 0; i < 5; i += 1) expect(gate.enter('a').ok).toBe(true);
    const waits: number[] = [];
    for (let i = 0; i < 9; i += 1) {
      const answer = gate.enter('a');
      if (answer.ok) throw new Error('it let a try through');
      waits.push(answer.waitMs);
      clock.now += answer.waitMs;
      expect(gate.enter('a').ok).toBe(true);
    }
    expect(waits).toEqual([1, 2, 4, 8, 16, 32, 60, 60, 60].map((s) => s * 1000));
  });

  it('counts names and addresses apart, and starts anew after a right try or a quiet quarter of an hour', () => {
    const { clock, gate } = setUp();
    for (let i = 0; i < 5; i += 1) gate.enter('a');
    expect(gate.enter('a').ok).toBe(false);
    expect(gate.enter('b').ok).toBe(true);
    clock.now += 1000;
    expect(gate.enter('a').ok).toBe(true);
    gate.passed('a');
    for (let i = 0; i < 5; i += 1) expect(gate.enter('a').ok).toBe(true);
    clock.now += 15 * 60_000 + 1;
    for (let i = 0; i < 5; i += 1) expect(gate.enter('a').ok).toBe(true);
  });

  it('never shuts anybody out for more than a minute, whatever the clock does', () => {
    const step = fc.oneof(fc.integer({ min: -100_000_000, max: 0 }), fc.integer({ min: 0, max: 100_000_000 }));
    fc.assert(
      fc.property(fc.array(step, { maxLength: 40 }), (steps) => {
        const { clock, gate } = setUp();
        for (let i = 0; i < 12; i += 1) gate.enter('a');
        for (const ms of steps) {
          clock.now += ms;
          gate.enter('a');
        }
        const answer = gate.enter('a');
        clock.now += LONGEST_WAIT_MS;
        expect(answer.ok || answer.waitMs <= LONGEST_WAIT_MS).toBe(true);
        expect(gate.enter('a').ok).toBe(true);
      }),
    );
  });

  it('waits never shrink with more wrong tries', () => {
    for (let wrong = 0; wrong < 2000; wrong += 1)
      expect(waitAfterMs(wrong + 1)).toBeGreaterThanOrEqual(waitAfterMs(wrong));
  });
});

describe('the queue', () => {
  it('runs two at once, keeps one waiting, refuses the rest, and goes on after a failure', async () => {
    const queue = createQueue(2, 1);
    const ends: (() => void)[] = [];
    const job = (n: number) => queue(() => new Promise<number>((resolve) => ends.push(() => resolve(n))));
    const failing = queue(async () => {
      throw new Error('on purpose');
    });
    await expect(failing).rejects.toThrow('on purpose');
    const [a, b, c] = [job(1), job(2), job(3)];
    expect(ends).toHaveLength(2);
    expect(await job(4)).toBeNull();
    ends[0]?.();
    expect(await a).toBe(1);
    ends[1]?.();
    expect(await b).toBe(2);
    expect(ends).toHaveLength(3);
    ends[2]?.();
    expect(await c).toBe(3);
  });
});
