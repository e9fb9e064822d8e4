import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createPostClock, systemClocks, uptimeUs } from '../../server/journal/post-clock.ts';

function clockAt(startAt = 1_000_000_000) {
  const sources = { steady: 500, wall: startAt / 1_000, boot: 70 as number | null };
  const clock = createPostClock({
    steadyUs: () => sources.steady,
    wallMs: () => sources.wall,
    bootUs: () => sources.boot,
    startAt,
    wallOffsetMs: 0,
  });
  const pass = (us: number) => {
    sources.steady += us;
    sources.wall += us / 1_000;
    if (sources.boot !== null) sources.boot += us;
  };
  return { clock, sources, pass };
}

describe('post time', () => {
  it('starts where it is told to, and strictly rises while time stands still', () => {
    const { clock } = clockAt(1_000_000);
    expect([clock.now(), clock.stamp(), clock.stamp(), clock.stamp()]).toEqual([
      1_000_000, 1_000_000, 1_000_001, 1_000_002,
    ]);
    expect(clock.now()).toBe(1_000_002);
  });

  it('is moved by the steady clock alone', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            steady: fc.integer({ min: -50, max: 5_000 }), // a steady clock that is not must not harm either
            wall: fc.integer({ min: -10_000_000, max: 10_000_000 }),
            what: fc.constantFrom('stamp', 'now', 'wall', 'stall'),
          }),
        ),
        (steps) => {
          const { clock, sources } = clockAt();
          let last = 0;
          let seen = 0;
          for (const { steady, wall, what } of steps) {
            sources.steady += steady;
            sources.wall += wall;
            if (what === 'wall') clock.checkWall();
            if (what === 'stall') clock.checkStall();
            const now = clock.now();
            expect(now).toBeGreaterThanOrEqual(last);
            if (what !== 'stamp') continue;
            const at = clock.stamp();
            expect(at).toBeGreaterThan(last);
            expect(at).toBeGreaterThanOrEqual(now);
            expect(Number.isSafeInteger(at)).toBe(true);
            last = at;
            seen += 1;
          }
          expect(seen).toBeLessThanOrEqual(steps.length);
        },
      ),
    );
  });
});

describe('the wall clock', () => {
  it('may be off by a second, a larger step is told once', () => {
    const { clock, sources, pass } = clockAt();
    pass(5_000_000);
    sources.wall += 1_000;
    expect(clock.checkWall()).toBeNull();
    sources.wall += 1;
    expect(clock.checkWall()).toEqual({ wallOffsetBeforeMs: 0, wallOffsetAfterMs: 1_001 });
    expect(clock.checkWall()).toBeNull();
    sources.wall -= 3_600_000;
    expect(clock.checkWall()).toEqual({ wallOffsetBeforeMs: 1_001, wallOffsetAfterMs: 1_001 - 3_600_000 });
    expect(clock.wallOffsetMs()).toBe(1_001 - 3_600_000);
  });
});

describe('pauses', () => {
  it('a stall over 2 s is told, from the last sign of life', () => {
    const { clock, pass } = clockAt();
    pass(250_000);
    expect(clock.checkStall()).toBeNull();
    pass(100_000);
    const stamped = clock.stamp();
    pass(2_000_000);
    expect(clock.checkStall()).toBeNull();
    pass(100_000);
    clock.stamp();
    pass(2_000_001);
    expect(clock.checkStall()).toEqual({ from: stamped + 2_100_000, to: stamped + 4_100_001, cause: 'stall' });
    expect(clock.checkStall()).toBeNull();
  });

  it('a sleep moves post time along and is no step of the wall clock', () => {
    const { clock, sources, pass } = clockAt();
    pass(250_000);
    clock.checkStall();
    const before = clock.now();
    sources.wall += 60_000;
    sources.boot = (sources.boot ?? 0) + 60_000_000;
    expect(clock.checkWall()).toBeNull();
    expect(clock.checkStall()).toEqual({ from: before, to: before + 60_000_000, cause: 'suspend' });
    expect(clock.checkWall()).toBeNull();
    expect(clock.now()).toBe(before + 60_000_000);
  });

  it('without a boot clock a sleep is only seen as a step of the wall clock', () => {
    const { clock, sources } = clockAt();
    sources.boot = null;
    sources.wall += 60_000;
    expect(clock.checkStall()).toBeNull();
    expect(clock.checkWall()).toEqual({ wallOffsetBeforeMs: 0, wallOffsetAfterMs: 60_000 });
  });
});

describe('the clocks of this machine', () => {
  it('reads /proc/uptime', () => {
    // The two numbers of proc(5): up and idle seconds, with two decimals (from memory).
    expect(uptimeUs('350735.47 234388.90\n')).toBe(350_735_470_000);
    expect(uptimeUs('')).toBeNull();
    expect(uptimeUs('soon')).toBeNull();
  });

  it('gives whole microseconds that do not go back', () => {
    const clocks = systemClocks();
    const first = clocks.steadyUs();
    expect(Number.isSafeInteger(first)).toBe(true);
    expect(clocks.steadyUs()).toBeGreaterThanOrEqual(first);
    const boot = clocks.bootUs();
    if (boot !== null) expect(clocks.bootUs()).toBeGreaterThanOrEqual(boot);
    clocks.close();
  });
});
