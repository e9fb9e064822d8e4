/**
 * What is in the air and on the ground at every place and moment of a scenario, as it truly is: wind, rooms that fill
 * with gas, the plume outdoors, gamma sources. Sensors and their faults are in monitor-model.ts.
 */
import { alongWind, plumeConcentration } from '../../shared/map/dispersion.ts';
import { gasVolumeRate, inverseSquare } from './physics.ts';
import type { Scenario } from './scenario.ts';
import { onRamp } from './timeline.ts';

const STEP_MS = 250;
const HISTORY_MS = 1000;
const HISTORY_LENGTH = 900;
const BREATHING_HEIGHT_M = 1.5;

export type Wind = { readonly fromDegrees: number; readonly speedMs: number };

export type World = {
  /** Carries the rooms on to `tMs`; time only goes forward. */
  readonly advanceTo: (tMs: number) => void;
  readonly windAt: (tMs: number) => Wind;
  /** The room at a place, if any. */
  readonly roomAt: (eastM: number, northM: number) => string | undefined;
  /** Volume fraction (0 to 1) of the released gas where a person stands, at the moment advanced to. */
  readonly gasAt: (eastM: number, northM: number) => number;
  /** Gamma above the background, µR/h. */
  readonly gammaAt: (eastM: number, northM: number) => number;
  /** Share of one kind of local air (0 to 1 times its `add`), summed for a channel in the unit of its sensor. */
  readonly localAirAt: (channel: string, eastM: number, northM: number) => number;
};

/** The world of a scenario at its first moment, with clean rooms. */
export function createWorld(scenario: Scenario): World {
  const { release, rooms, wind } = scenario;
  const fractions = rooms.map(() => 0);
  const outdoorsShare = 1 - rooms.reduce((sum, room) => sum + room.releaseShare, 0);
  /** m³/s of gas let out of doors, one entry a second, newest last: the plume needs time to travel. */
  const emitted: number[] = [];
  let nowMs = 0;

  function windAt(tMs: number): Wind {
    const swing = wind.meander.reduce(
      (sum, m) => sum + m.amplitudeDegrees * Math.sin((2 * Math.PI * tMs) / (m.periodS * 1000)),
      0,
    );
    return { fromDegrees: (wind.fromDegrees + swing + 360) % 360, speedMs: wind.speedMs };
  }

  /** One step of the rooms; gives the m³/s of gas that leaves into the open. */
  function stepRooms(): number {
    const atS = (nowMs / 1000) % scenario.durationS;
    const released = gasVolumeRate(onRamp(release.gramsPerSecond, atS), scenario.gas.molarMass);
    const inflow = rooms.map(() => 0);
    const inflowGas = rooms.map(() => 0);
    let outdoors = released * outdoorsShare;
    rooms.forEach((room, i) => {
      const x = fractions[i] ?? 0;
      const source = released * room.releaseShare;
      const fresh = onRamp(room.ventilationM3PerS, atS);
      const enters = inflow[i] ?? 0;
      // What is let in pushes as much out: the pressure stays the same.
      const leaves = fresh + source + enters;
      const change = (source + (inflowGas[i] ?? 0) - leaves * x) / room.volumeM3;
      fractions[i] = Math.min(1, Math.max(0, x + (change * STEP_MS) / 1000));
      const target = rooms.findIndex((other) => other.name === room.into);
      if (target === -1) outdoors += leaves * x;
      else {
        inflow[target] = (inflow[target] ?? 0) + leaves;
        inflowGas[target] = (inflowGas[target] ?? 0) + leaves * x;
      }
    });
    return outdoors;
  }

  function advanceTo(tMs: number): void {
    while (nowMs + STEP_MS <= tMs) {
      const outdoors = stepRooms();
      if (nowMs % HISTORY_MS === 0) {
        emitted.push(outdoors);
        if (emitted.length > HISTORY_LENGTH) emitted.shift();
      }
      nowMs += STEP_MS;
    }
  }

  function roomIndexAt(eastM: number, northM: number): number {
    return rooms.findIndex(({ from, to }) => eastM >= from[0] && eastM < to[0] && northM >= from[1] && northM < to[1]);
  }

  function gasAt(eastM: number, northM: number): number {
    const indoors = fractions[roomIndexAt(eastM, northM)];
    if (indoors !== undefined) return indoors;
    const blowing = windAt(nowMs);
    const along = alongWind(eastM - release.at[0], northM - release.at[1], blowing.fromDegrees);
    const ageSteps = Math.round((Math.max(0, along.downwindM) / blowing.speedMs) * (1000 / HISTORY_MS));
    const rate = emitted[emitted.length - 1 - ageSteps];
    if (rate === undefined) return 0; // nothing was let out as long ago as that
    const fraction = plumeConcentration(
      { ...release, rate },
      { windSpeedMs: blowing.speedMs, stability: wind.stability },
      { ...along, heightM: BREATHING_HEIGHT_M },
    );
    return Math.min(1, fraction);
  }

  return {
    advanceTo,
    windAt,
    roomAt: (eastM, northM) => rooms[roomIndexAt(eastM, northM)]?.name,
    gasAt,
    gammaAt: (eastM, northM) =>
      scenario.gammaSources.reduce((sum, source) => {
        const distance = Math.hypot(eastM - source.at[0], northM - source.at[1]);
        return sum + inverseSquare(source.microRPerHourAtOneMetre, distance);
      }, 0),
    localAirAt: (channel, eastM, northM) =>
      scenario.localAir
        .filter((air) => air.channel === channel)
        .reduce((sum, air) => {
          const distance = Math.hypot(eastM - air.at[0], northM - air.at[1]);
          return sum + air.add * Math.exp(-((distance / air.radiusM) ** 2) / 2);
        }, 0),
  };
}
