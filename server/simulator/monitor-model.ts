/** One simulated monitor: what its sensors show of the world, with lag, noise, resolution, full scale and faults. */
import type { z } from 'zod';
import type { reading, WirePacket } from '../../shared/protocol/packet.ts';
import type { Unit } from '../../shared/quantity/channels.ts';
import { beadShare, displacedOxygen, percentLel, pidReading, respond, toResolution } from './physics.ts';
import { toLatLon } from './place.ts';
import { type Random, randomStream } from './random.ts';
import type { Scenario, ScenarioMonitor, ScenarioPerson, Sensor } from './scenario.ts';
import { isWithin, onWalk } from './timeline.ts';
import type { World } from './world.ts';

type Reading = z.infer<typeof reading>;
type Status = NonNullable<WirePacket['status']>;

export type Carried = {
  readonly monitor: ScenarioMonitor;
  readonly person: Pick<ScenarioPerson, 'walk' | 'still'>;
};

export type MonitorModel = {
  /** Milliseconds after the full interval at which this monitor reports. */
  readonly phaseMs: number;
  /** The packet of a moment, without times; `tMs` must not go back. */
  readonly packetAt: (tMs: number, boot: string, seq: number) => WirePacket;
};

/** A monitor with its own stream of noise, so that it shows the same whichever others there are. */
export function createMonitorModel(
  scenario: Scenario,
  world: World,
  { monitor, person }: Carried,
  seed: number,
): MonitorModel {
  const random = randomStream(seed, monitor.id);
  const phaseMs = Math.floor(random.uniform() * scenario.intervalMs);
  const faults = scenario.faults.filter((fault) => fault.monitor === monitor.id);
  const relayAt = scenario.relays.find((relay) => relay.name === monitor.relay)?.at;
  const shown = new Map<string, number>();
  const drawn = new Map<string, number>();
  const drift = {
    east: createDrift(random),
    north: createDrift(random),
    gust: createDrift(random),
    link: createDrift(random),
  };
  let lastMs: number | undefined;

  function activeFaults(atS: number) {
    return faults.filter((fault) => isWithin(fault, atS));
  }

  /** What a perfect sensor would show. */
  function truth(channel: string, sensor: Sensor, at: { eastM: number; northM: number }, gas: number, atS: number) {
    const base =
      sensor.cleanAir +
      world.localAirAt(channel, at.eastM, at.northM) +
      activeFaults(atS).reduce((sum, f) => sum + (f.kind === 'local-source' && f.channel === channel ? f.add : 0), 0);
    switch (channel) {
      case 'o2':
        return displacedOxygen(gas, base);
      case 'lel': {
        const lel = percentLel(gas, scenario.gas.lelPercentVol);
        return base + (scenario.beadReadsLowInThinOxygen ? lel * beadShare(displacedOxygen(gas)) : lel);
      }
      case 'voc':
        return base + fromPpm(pidReading(gas * 1e6, scenario.gas, scenario.lampEv), sensor.unit);
      case 'gamma':
        return base + world.gammaAt(at.eastM, at.northM);
      default:
        return channel === scenario.gas.channel ? base + fromPpm(gas * 1e6, sensor.unit) : base;
    }
  }

  function noisy(value: number, sensor: Sensor): number {
    const counting = sensor.countsPerUnit === undefined ? 0 : Math.sqrt(Math.max(0, value) / sensor.countsPerUnit);
    const spread = Math.hypot(sensor.noise, counting, value * (sensor.relativeNoise ?? 0));
    return value + spread * random.normal();
  }

  function packetAt(tMs: number, boot: string, seq: number): WirePacket {
    const atS = (tMs / 1000) % scenario.durationS;
    const elapsedMs = lastMs === undefined ? undefined : tMs - lastMs;
    lastMs = tMs;
    world.advanceTo(tMs);
    const at = onWalk(person.walk, atS);
    const indoors = world.roomAt(at.eastM, at.northM) !== undefined;
    // Out of doors a plume comes in gusts; indoors it is well mixed.
    const gust = indoors ? 1 : Math.max(0.2, 1 + 0.25 * drift.gust());
    const gas = Math.min(1, world.gasAt(at.eastM, at.northM) * gust);
    const active = activeFaults(atS);
    const blocked = active.some((fault) => fault.kind === 'pump-blocked');
    const warming = active.some((fault) => fault.kind === 'warming');
    const mode = active.find((fault) => fault.kind === 'mode')?.mode ?? 'all';

    const readings: Record<string, Reading> = {};
    for (const channel of monitor.sensors) {
      const sensor = scenario.sensors[channel];
      if (sensor === undefined) continue;
      const isGas = channel !== 'gamma';
      // A blocked pump leaves the sensors with the last air that it drew.
      if (!blocked || !isGas) drawn.set(channel, truth(channel, sensor, at, gas, atS));
      const target = drawn.get(channel) ?? truth(channel, sensor, at, gas, atS);
      const before = shown.get(channel) ?? target;
      const now = elapsedMs === undefined ? target : respond(before, target, elapsedMs, sensor.t90S * 1000);
      shown.set(channel, now);
      const value = toResolution(noisy(now, sensor) - (monitor.zeroOffsets?.[channel] ?? 0), sensor.resolution);
      readings[channel] = readingOf(value, sensor, {
        off: mode === (isGas ? 'radiation-only' : 'gas-only'),
        warming: warming && isGas,
      });
    }

    const status: Status = {
      battery: Math.max(0, Math.round(monitor.batteryPercent - (monitor.drainPercentPerHour * atS) / 3600)),
      pump: mode === 'radiation-only' ? 'off' : blocked ? 'blocked' : 'running',
      mode,
      linkQuality: linkQuality(at, indoors),
      intervalMs: scenario.intervalMs,
    };
    if (monitor.reportsMotion) {
      status.motion = person.still.some((span) => isWithin(span, atS)) ? 'still' : 'moving';
    }
    const accuracy = indoors ? 18 : 5;
    const position = {
      ...toLatLon(
        scenario.origin,
        at.eastM + (drift.east() * accuracy) / 3,
        at.northM + (drift.north() * accuracy) / 3,
      ),
      accuracy,
    };
    const packet: WirePacket = { monitor: monitor.id, boot, seq, readings, status, position };
    if (monitor.reportsWeather === true) packet.weather = weatherAt(tMs);
    return packet;
  }

  function linkQuality(at: { eastM: number; northM: number }, indoors: boolean): number {
    const far = relayAt === undefined ? 0 : Math.hypot(at.eastM - relayAt[0], at.northM - relayAt[1]) / 6;
    return Math.round(Math.min(100, Math.max(3, 97 - far - (indoors ? 28 : 0) + 5 * drift.link())));
  }

  function weatherAt(tMs: number): NonNullable<WirePacket['weather']> {
    const wind = world.windAt(tMs);
    return {
      windFrom: toResolution((wind.fromDegrees + 3 * random.normal() + 360) % 360, 1),
      windSpeed: toResolution(Math.max(0, wind.speedMs + 0.3 * random.normal()), 0.1),
      temperature: scenario.wind.temperatureC,
      humidity: scenario.wind.humidityPercent,
      pressure: scenario.wind.pressureHpa,
    };
  }

  return { phaseMs, packetAt };
}

function readingOf(value: number, sensor: Sensor, state: { off: boolean; warming: boolean }): Reading {
  if (state.off) return { flag: 'off' };
  if (state.warming) return { flag: 'warming' };
  if (value > sensor.fullScale) return { flag: 'over-range' };
  return { value, unit: sensor.unit };
}

function fromPpm(ppm: number, unit: Unit): number {
  return unit === 'ppb' ? ppm * 1000 : ppm;
}

/** Slow noise of unit variance: each call is a step that keeps nine tenths of the last. */
function createDrift(random: Random): () => number {
  let value = 0;
  return () => {
    value = 0.9 * value + Math.sqrt(1 - 0.81) * random.normal();
    return value;
  };
}
