import { describe, expect, test } from 'vitest';
import { gasVolumeRate } from '../../server/simulator/physics.ts';
import { demonstrationScenario, type Scenario } from '../../server/simulator/scenario.ts';
import { createWorld } from '../../server/simulator/world.ts';

const demonstration = demonstrationScenario();
const steadyWind = { ...demonstration.wind, fromDegrees: 270, speedMs: 4, meander: [] };
const release = {
  ...demonstration.release,
  at: [0, 0] as [number, number],
  gramsPerSecond: [[0, 200]] as [number, number][],
};
const perSecond = gasVolumeRate(200, demonstration.gas.molarMass);

function withRooms(rooms: Scenario['rooms']): Scenario {
  return { ...demonstration, wind: steadyWind, release, rooms };
}

function room(more: Partial<Scenario['rooms'][number]>): Scenario['rooms'][number] {
  return {
    name: 'room',
    from: [-5, -5],
    to: [5, 5],
    volumeM3: 300,
    releaseShare: 1,
    ventilationM3PerS: [[0, 0]],
    ...more,
  };
}

describe('a room that gas is let into', () => {
  // Well mixed at constant pressure: V dx/dt = Q − (F + Q) x, so x = Q/(F+Q) (1 − e^(−(F+Q) t/V)).
  test.each([0, 0.5, 3])('fills as the balance says, with %f m³/s of fresh air', (fresh) => {
    const world = createWorld(withRooms([room({ ventilationM3PerS: [[0, fresh]] })]));
    for (const seconds of [60, 300, 800]) {
      world.advanceTo(seconds * 1000);
      const leaves = fresh + perSecond;
      const expected = (perSecond / leaves) * (1 - Math.exp((-leaves * seconds) / 300));
      expect(world.gasAt(0, 0)).toBeCloseTo(expected, 2);
      expect(Math.abs(world.gasAt(0, 0) / expected - 1)).toBeLessThan(0.01);
    }
  });

  test('passes what it loses on to the next room, none of it twice', () => {
    const first = room({ name: 'first', into: 'second', ventilationM3PerS: [[0, 0.4]] });
    const second = room({ name: 'second', from: [5, -5], to: [15, 5], releaseShare: 0, volumeM3: 500 });
    const world = createWorld(withRooms([first, second]));
    // Long enough for both to be steady: the same air goes through both.
    world.advanceTo(30_000_000);
    expect(world.gasAt(0, 0)).toBeCloseTo(perSecond / (0.4 + perSecond), 6);
    expect(world.gasAt(10, 0)).toBeCloseTo(world.gasAt(0, 0), 6);
    expect([world.roomAt(0, 0), world.roomAt(10, 0), world.roomAt(20, 0)]).toEqual(['first', 'second', undefined]);
  });
});

describe('out of doors', () => {
  test('the plume takes its time: 200 m at 4 m/s are 50 s', () => {
    const world = createWorld(withRooms([]));
    world.advanceTo(48_000);
    expect(world.gasAt(200, 0)).toBe(0);
    expect(world.gasAt(20, 0)).toBeGreaterThan(0);
    world.advanceTo(53_000);
    expect(world.gasAt(200, 0)).toBeGreaterThan(0);
  });

  test('it goes where the wind goes: nothing upwind, little aside', () => {
    const world = createWorld(withRooms([]));
    world.advanceTo(200_000);
    expect(world.gasAt(-20, 0)).toBe(0);
    expect(world.gasAt(100, 0)).toBeGreaterThan(1e-5);
    expect(world.gasAt(100, 60)).toBeLessThan(world.gasAt(100, 0) / 1000);
  });

  test('the wind swings about its mean', () => {
    const world = createWorld(demonstration);
    const directions = Array.from({ length: 900 }, (_, s) => world.windAt(s * 1000).fromDegrees);
    const mean = directions.reduce((sum, d) => sum + d, 0) / directions.length;
    expect(mean).toBeCloseTo(245, 0);
    expect(Math.max(...directions) - Math.min(...directions)).toBeGreaterThan(10);
    expect(Math.max(...directions) - Math.min(...directions)).toBeLessThanOrEqual(24);
  });
});

test('gamma sources follow the inverse square', () => {
  const source = { note: 'x', at: [0, 0] as [number, number], microRPerHourAtOneMetre: 200_000 };
  const world = createWorld({ ...demonstration, gammaSources: [source] });
  expect(world.gammaAt(10, 0)).toBeCloseTo(2000, 9);
  expect(world.gammaAt(0, -1)).toBeCloseTo(200_000, 6);
});
